using System.Net;
using System.Net.Http.Headers;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>A shelf with something behind every door, and everyone who might knock. The clock stands still, so that only knocks change things.</summary>
internal sealed class DoorWorld : IAsyncDisposable
{
    public const string MemberEmail = "dunlin@post.example";
    public const string LeftEmail = "turnstone@post.example";
    public const string Password = "four tins and a spoon";
    private int _made;
    private string _token = "";
    private string _revoked = "";
    private string _numbers = "";

    public ShelfHost Host { get; } = new()
    {
        Clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow()),
        Settings = { ["Shelf:SignIn:MostTries"] = "10000", ["Shelf:Faults:MostTold"] = "10000" },
        Replace = services => services.AddTransient<IStartupFilter, TargetsAsSent>().AddSingleton<Core.Payments.IPayments, LeavingPayments>(),
    };

    public HttpClient Maker { get; private set; } = null!;
    public (string Slug, long ReleaseId) Free { get; private set; }
    public (string Slug, long ReleaseId) ForMembers { get; private set; }

    /// <param name="language">What it speaks; null: English.</param>
    public static async Task<DoorWorld> MakeAsync(string? language = null)
    {
        var world = new DoorWorld();
        if (language is not null)
            world.Host.Settings["Shelf:Language"] = language;
        await world.Host.ClaimAsync();
        await world.Host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        world.Maker = await world.Host.MakerAsync();
        world.Free = await world.PublishedAsync("Free");
        world.ForMembers = await world.PublishedAsync("Members");
        await world.AddPeopleAsync();
        return world;
    }

    /// <summary>A number not used before in this world, for names that must differ.</summary>
    public int Next() => ++_made;

    /// <summary>A client of this kind, signed in afresh, which follows nothing.</summary>
    public async Task<HttpClient> ClientAsync(Who who)
    {
        switch (who)
        {
            case Who.Member: return await Host.SignedInAsync(MemberEmail);
            case Who.LeftMember: return await Host.SignedInAsync(LeftEmail);
            case Who.Maker: return await Host.SignedInAsync(ShelfHost.MakerEmail, isMaker: true);
            case Who.Token or Who.NumbersToken or Who.RevokedToken:
                var machine = Host.Visitor();
                machine.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", who switch { Who.Token => _token, Who.NumbersToken => _numbers, _ => _revoked });
                return machine;
            default: return Host.Visitor();
        }
    }

    /// <summary>An empty library of its own.</summary>
    public async Task<string> LibraryAsync()
    {
        var slug = $"kettle-{Next()}";
        await Host.RunAsync((AddLibrary add) => add.RunAsync(new LibraryWords("Mended Kettle"), slug, CancellationToken.None));
        return slug;
    }

    /// <summary>A draft with one file that is here.</summary>
    public async Task<long> DraftAsync()
    {
        var id = await Host.ReleaseAsync(slug: $"kettle-{Next()}");
        await Host.FileAsync(id, "a.wav", $"a{Next()}");
        return id;
    }

    /// <summary>A checked release with words, ready to be sealed unless something is found.</summary>
    public async Task<long> ReadyAsync(params (Packaging.CheckSheets.Severity, string?, string)[] findings)
    {
        var id = await DraftAsync();
        await Host.CheckedAsync(id, findings);
        await Host.RunAsync((EditRelease edit) => edit.RunAsync(
            id, new ReleaseWords("First jars.", "CC0-1.0", "", "", [new PlayerWords("Pondskater", "2.3")]), CancellationToken.None));
        return id;
    }

    /// <summary>A checked release whose changes since the sealed one before it are known.</summary>
    public async Task<(long Id, long Since)> ComparedAsync()
    {
        var since = await SealedAsync();
        var slug = await Host.AskDbAsync(db => db.Releases.Where(r => r.Id == since).Select(r => r.Library.Slug).SingleAsync());
        var started = await Host.RunAsync((StartRelease start) => start.RunAsync(slug, "1.0.1", CancellationToken.None));
        var id = Assert.IsType<StartReleaseOutcome.Started>(started).ReleaseId;
        await Host.FileAsync(id, "a.wav", $"a{Next()}");
        await Host.FileAsync(id, "b.wav", $"b{Next()}");
        await Host.CheckedAsync(id);
        await Host.RunAsync((CompareReleases compare) => compare.RunAsync(id, since, CancellationToken.None));
        return (id, since);
    }

    public async Task<long> SealedAsync()
    {
        var id = await ReadyAsync();
        await Maker.PressAndFollowAsync(await Maker.PageAsync($"/workbench/releases/{id}/seal"), "Seal 1.0.0");
        await SealAsync(id);
        return id;
    }

    /// <summary>A sealed version that the one who left was given early, and nobody else.</summary>
    public async Task<(string Slug, long ReleaseId)> EarlyAsync()
    {
        var id = await SealedAsync();
        Assert.IsType<ReleaseEarlyOutcome.Opened>(await Host.RunAsync<ReleaseEarly, ReleaseEarlyOutcome>(
            early => early.RunAsync(id, LeftEmail, declares: true, null, default)));
        return (await Host.AskDbAsync(db => db.Releases.Where(r => r.Id == id).Select(r => r.Library.Slug).SingleAsync()), id);
    }

    /// <summary>Something a visitor told of the free box.</summary>
    public async Task<long> FaultAsync() => Assert.IsType<ReportFaultOutcome.Reported>(await Host.RunAsync<ReportFault, ReportFaultOutcome>(
        report => report.RunAsync(Free.Slug, new ToldFault(Free.ReleaseId, null, null, $"It hums, {Next()}."), null, default))).FaultId;

    /// <summary>A link that opens the free box, as a path.</summary>
    public async Task<string> LinkAsync() => Assert.IsType<MakeLinkOutcome.Made>(
        await Host.RunAsync<MakeLink, MakeLinkOutcome>(make => make.RunAsync(Free.ReleaseId, null, null, default))).Path;

    public ValueTask DisposeAsync() => Host.DisposeAsync();

    private async Task<(string Slug, long ReleaseId)> PublishedAsync(string audience)
    {
        var id = await ReadyAsync();
        await Maker.PressAndFollowAsync(await Maker.PageAsync($"/workbench/releases/{id}/seal"), "Seal and publish 1.0.0", ("audience", audience), ("declares", "true"));
        await SealAsync(id);
        var slug = await Host.AskDbAsync(db => db.Releases.Where(r => r.Id == id && r.State == ReleaseState.Published).Select(r => r.Library.Slug).SingleAsync());
        return (slug, id);
    }

    private Task<bool> SealAsync(long id) => Host.RunAsync(async (IServiceProvider services) =>
    {
        await ActivatorUtilities.CreateInstance<SealJob>(services).RunAsync(id, CancellationToken.None);
        return true;
    });

    private async Task AddPeopleAsync()
    {
        foreach (var email in new[] { MemberEmail, LeftEmail })
            Assert.Equal(GrantOutcome.Granted, await Host.RunAsync((GrantMembership grant) => grant.RunAsync(email, null, null, null, default)));
        var left = await Host.PersonAsync(LeftEmail);
        Assert.Equal(EndOutcome.Ended, await Host.RunAsync((EndMembership end) => end.RunAsync(left.Id, default)));

        _token = await Host.RunAsync((MakeUploadToken make) => make.RunAsync("works", default));
        _revoked = await Host.RunAsync((MakeUploadToken make) => make.RunAsync("lost", default));
        _numbers = await Host.RunAsync((MakeUploadToken make) => make.RunAsync("figures", default, TokenUse.ReadNumbers));
        // Used once, because its first use in a minute is noted.
        using (var used = await (await ClientAsync(Who.Token)).GetAsync(new Uri("/api/drafts/0", UriKind.Relative)))
            Assert.Equal(HttpStatusCode.NotFound, used.StatusCode);
        using (var used = await (await ClientAsync(Who.NumbersToken)).GetAsync(new Uri("/api/numbers/drops", UriKind.Relative)))
            Assert.Equal(HttpStatusCode.OK, used.StatusCode);
        var lost = await Host.AskDbAsync(db => db.UploadTokens.Where(t => t.Name == "lost").Select(t => t.Id).SingleAsync());
        Assert.True(await Host.RunAsync((RevokeUploadToken revoke) => revoke.RunAsync(lost, default)));
    }

    /// <summary>The test server leaves out what a real one tells of the request line, which a link is verified by.</summary>
    private sealed class TargetsAsSent : IStartupFilter
    {
        public Action<IApplicationBuilder> Configure(Action<IApplicationBuilder> next) => app =>
        {
            app.Use((context, rest) =>
            {
                context.Features.GetRequiredFeature<IHttpRequestFeature>().RawTarget = context.Request.Path.ToUriComponent() + context.Request.QueryString;
                return rest(context);
            });
            next(app);
        };
    }
}
