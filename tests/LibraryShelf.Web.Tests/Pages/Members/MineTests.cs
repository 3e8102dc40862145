using System.Net;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Pages.Members;

public sealed class MineTests
{
    private const string Wren = "wren@post.example";

    private static async Task<ShelfHost> StockedAsync()
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            await db.AddBoxAsync("Jam Jars", Audience.Members, "struck", "1.0.0", "1.10.0", "1.9.0");
            await db.AddBoxAsync("Tin Roof", Audience.Free, "clicks", "1.0.0");
        });
        return host;
    }

    private static Task<GrantOutcome> GrantAsync(ShelfHost host) => host.RunAsync<GrantMembership, GrantOutcome>(
        grant => grant.RunAsync(Wren, "", null, null, CancellationToken.None));

    [Fact]
    public async Task A_member_sees_what_is_theirs_and_why_and_a_press_makes_the_link()
    {
        await using var host = await StockedAsync();
        await GrantAsync(host);
        var member = await host.SignedInAsync(Wren);
        var page = await member.PageAsync("/mine");
        Assert.Equal(["Jam Jars", "Tin Roof"], page.QuerySelectorAll("h2 a").Select(h => h.Words()));
        Assert.Equal(["1.10.0", "1.9.0", "1.0.0"], page.QuerySelectorAll("table")[0].QuerySelectorAll("th[scope=row]").Select(h => h.Words()));
        Assert.Equal(
            ["because you are a member", "free for everyone"],
            page.QuerySelectorAll("td[data-label='Open to you']").Select(d => d.Words()).Distinct());

        using var pressed = await member.PressAsync(page, "Download Jam Jars 1.10.0");
        Assert.Equal(HttpStatusCode.SeeOther, pressed.StatusCode);
        Assert.StartsWith("/get/", pressed.Headers.Location!.OriginalString, StringComparison.Ordinal);
        var row = await host.AskDbAsync(db => db.Downloads.AsNoTracking().SingleAsync());
        Assert.Equal(MayDownloadWhy.Member, row.Why);
        Assert.Equal((await host.PersonAsync(Wren)).Id, row.PersonId);
    }

    [Fact]
    public async Task The_update_from_the_version_last_finished_stands_beside_the_whole_library()
    {
        await using var host = await StockedAsync();
        await GrantAsync(host);
        var person = (await host.PersonAsync(Wren)).Id;
        await host.WithDbAsync(async db =>
        {
            var releases = await db.Releases.Where(r => r.Library.Title == "Jam Jars").ToListAsync();
            var (old, next) = (releases.Single(r => r.Number == "1.9.0"), releases.Single(r => r.Number == "1.10.0"));
            db.Add(new PossibleUpdate { ReleaseId = next.Id, FromReleaseId = old.Id, Bytes = 38_000_000 });
            db.Add(new Archive
            {
                ReleaseId = next.Id, FromReleaseId = old.Id, Kind = ArchiveKind.Update, Length = 38_000_000, FileName = "update.zip",
                RecipeSha256 = new string('8', 64), CreatedAt = TimeProvider.System.GetUtcNow(),
            });
            db.Add(new Download { Id = "d", ArchiveId = 1, ReleaseId = old.Id, LibraryId = old.LibraryId, PersonId = person, StartedAt = DateTimeOffset.UnixEpoch });
            await db.SaveChangesAsync();
        });
        var member = await host.SignedInAsync(Wren);
        Assert.DoesNotContain("Update from", (await member.PageAsync("/mine")).Body!.TextContent, StringComparison.Ordinal);
        await host.WithDbAsync(async db =>
        {
            db.Add(new DownloadTally { DownloadId = "d", FinishedAt = DateTimeOffset.UnixEpoch });
            await db.SaveChangesAsync();
        });
        using var pressed = await member.PressAsync(await member.PageAsync("/mine"), "Update from your 1.9.0, 38 MB, to Jam Jars 1.10.0");
        Assert.Contains("update.zip", pressed.Headers.Location!.OriginalString, StringComparison.Ordinal);
        var maker = await host.MakerAsync();
        Assert.Contains("update from 1.9.0", (await maker.PageAsync("/workbench/downloads")).QuerySelector("table")!.TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_membership_that_ended_since_the_page_was_opened_makes_no_link_and_says_so()
    {
        await using var host = await StockedAsync();
        await GrantAsync(host);
        var member = await host.SignedInAsync(Wren);
        var page = await member.PageAsync("/mine");
        var id = (await host.PersonAsync(Wren)).Id;
        await host.RunAsync<EndMembership, EndOutcome>(end => end.RunAsync(id, CancellationToken.None));
        using var pressed = await member.PressAsync(page, "Download Jam Jars 1.10.0");
        Assert.Equal(HttpStatusCode.Forbidden, pressed.StatusCode);
        Assert.Contains("for members now, so no link was made", await pressed.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.False(await host.AskDbAsync(db => db.Downloads.AnyAsync()));
        Assert.Equal(["Tin Roof"], (await member.PageAsync("/mine")).QuerySelectorAll("h2 a").Select(h => h.Words()));
    }

    [Fact]
    public async Task What_came_out_since_the_last_visit_stands_at_the_top_and_links_down()
    {
        await using var host = new ShelfHost { Clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow()) };
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Tin Roof", Audience.Free, "clicks", "1.0.0"));
        var member = await host.SignedInAsync(Wren);
        Assert.Null((await member.PageAsync("/mine")).QuerySelector("#new")); // the first visit: all of it is new, so nothing is called so
        var seen = host.Clock.GetUtcNow();
        host.Clock.Advance(TimeSpan.FromDays(3));
        await PublishAsync(host, "1.1.0");
        using (var ahead = await GetAsync(member, HttpMethod.Get, "prefetch;prerender"))
            Assert.Contains("New since your last visit", await ahead.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        using (var head = await GetAsync(member, HttpMethod.Head, null))
            Assert.Equal(HttpStatusCode.OK, head.StatusCode);
        Assert.Equal(seen.ToUnixTimeMilliseconds(), await host.AskDbAsync(db => db.Users.Select(p => p.VisitedAt!.Value.ToUnixTimeMilliseconds()).SingleAsync()));
        var page = await member.PageAsync("/mine");
        var day = LibraryShelf.Web.Pages.Words.Dates.Day(seen, NodaTime.DateTimeZoneProviders.Tzdb["Europe/Lisbon"]);
        Assert.Equal($"New since your last visit on {day}", page.QuerySelector("#new")!.Words());
        var link = page.QuerySelector("#new + ul a")!;
        Assert.Equal("Tin Roof", link.Words());
        Assert.NotNull(page.QuerySelector(link.GetAttribute("href")!));
        Assert.StartsWith("Tin Roof 1.1.0 (", page.QuerySelector("#new + ul li")!.Words(), StringComparison.Ordinal);
        Assert.NotNull((await member.PageAsync("/mine")).QuerySelector("#new")); // the same visit
        host.Clock.Advance(TimeSpan.FromHours(1));
        Assert.Null((await member.PageAsync("/mine")).QuerySelector("#new"));
    }

    [Fact]
    public async Task A_link_that_still_opens_is_listed_and_closed()
    {
        await using var host = await StockedAsync();
        var member = await host.SignedInAsync(Wren);
        Assert.Contains("No link of yours works at the moment.", (await member.PageAsync("/mine")).Body!.TextContent, StringComparison.Ordinal);
        (await member.PressAsync(await member.PageAsync("/mine"), "Download Tin Roof 1.0.0")).Dispose();
        var page = await member.PageAsync("/mine");
        Assert.Equal("not yet", page.QuerySelector("#links ~ table td[data-label=Started]")!.Words());
        var after = await member.PressAndFollowAsync(page, "Close this link to Tin Roof 1.0.0");
        Assert.Contains("The link is closed", after.QuerySelector("#links + [role=status]")!.Words(), StringComparison.Ordinal);
        Assert.NotNull(await host.AskDbAsync(db => db.Downloads.Select(d => d.RevokedAt).SingleAsync()));
        using var twice = await member.PressAsync(page, "Close this link to Tin Roof 1.0.0");
        Assert.Equal(HttpStatusCode.NotFound, twice.StatusCode);
        Assert.Contains("closed already", await twice.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    private static Task<HttpResponseMessage> GetAsync(HttpClient client, HttpMethod method, string? purpose)
    {
        var request = new HttpRequestMessage(method, "/mine");
        if (purpose is not null)
            request.Headers.Add("Sec-Purpose", purpose);
        return client.SendAsync(request);
    }

    private static Task PublishAsync(ShelfHost host, string number) => host.WithDbAsync(async db =>
    {
        var library = await db.Libraries.SingleAsync();
        var release = new Release { LibraryId = library.Id, Number = number };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
            Assert.True(release.MoveTo(state, host.Clock!.GetUtcNow()));
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive { ReleaseId = release.Id, RecipeSha256 = new string('7', 64), Length = 5, FileName = "x.zip" });
        await db.SaveChangesAsync();
    });
}
