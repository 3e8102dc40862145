using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Data;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Jobs;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class SealPageTests
{
    [Fact]
    public async Task Both_buttons_are_blocked_with_reasons_until_it_is_ready()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.FileAsync(id, "a.wav", "a");
        await host.CheckedAsync(id, (Severity.MustFix, "a.wav", "Clipped."));
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("Put right or excuse the one must-fix entry first.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("at least one player", page.Body!.Words(), StringComparison.Ordinal);
        foreach (var button in new[] { "Seal 1.0.0", "Seal and publish 1.0.0" })
            Assert.True(ReleasePagesTests.Button(page, button).HasAttribute("disabled"));
    }

    [Fact]
    public async Task Sealed_first_and_published_later()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("393 recordings, none to fix, 0 excused.", page.Body!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Seal 1.0.0", ("audience", "Members"));
        Assert.Contains("is being sealed", page.Body!.Words(), StringComparison.Ordinal);

        await RunSealJobAsync(host, id);
        page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("Mended Kettle 1.0.0.zip", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Matches("^([0-9a-f]{4} ){15}[0-9a-f]{4}$", page.QuerySelector("code")!.Words());
        Assert.Empty(await host.AskDbAsync<List<AudienceDecision>>(db => db.AudienceDecisions.ToListAsync()));

        page = await maker.PressAndFollowAsync(page, "Publish 1.0.0", ("audience", "Members"), ("declares", "true"));
        Assert.Equal("/boxes/kettle", page.QuerySelector("main a.button")!.GetAttribute("href"));
        Assert.Equal((ReleaseState.Published, Audience.Members), await StandingAsync(host));
    }

    [Fact]
    public async Task Sealed_and_published_at_once()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        await maker.PressAndFollowAsync(page, "Seal and publish 1.0.0", ("audience", "Members"), ("declares", "true"));
        await RunSealJobAsync(host, id);
        Assert.Equal((ReleaseState.Published, Audience.Members), await StandingAsync(host));
    }

    [Fact]
    public async Task Without_the_declaration_it_is_sealed_and_the_page_says_why_it_is_not_published()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.False(page.QuerySelector("#declares")!.HasAttribute("checked"));
        Assert.Contains("this is no legal advice", page.QuerySelector("#declares-hint")!.Words(), StringComparison.Ordinal);
        await maker.PressAndFollowAsync(page, "Seal and publish 1.0.0", ("audience", "Members"));
        await RunSealJobAsync(host, id);
        page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("Version 1.0.0 was not published.", page.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        Assert.Equal((ReleaseState.Sealed, null), await StandingAsync(host));
        Assert.True(page.QuerySelector("input[name=audience][value=Members]")!.HasAttribute("checked")); // the wish is kept

        page = await maker.PressAndStayAsync(page, "Publish 1.0.0", ("audience", "Free"));
        Assert.Contains("Tick that sentence", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.True(page.QuerySelector("input[name=audience][value=Free]")!.HasAttribute("checked")); // and so is another
        await maker.PressAndFollowAsync(page, "Publish 1.0.0", ("audience", "Members"), ("declares", "true"));
        Assert.Equal((ReleaseState.Published, Audience.Members), await StandingAsync(host));
        Assert.Null((await maker.PageAsync($"/workbench/releases/{id}/seal")).QuerySelector("#declares"));
    }

    [Fact]
    public async Task Given_early_taken_off_and_withdrawn_by_a_second_press()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/releases/{id}/seal"), "Seal 1.0.0");
        await RunSealJobAsync(host, id);
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        page = await maker.PressAndStayAsync(page, "Give it to them", ("addresses", "wren"), ("declares", "true"));
        Assert.Contains("“wren” is no e-mail address", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.Equal("wren", page.QuerySelector("#addresses")!.TextContent.Trim());
        page = await maker.PressAndFollowAsync(page, "Give it to them", ("addresses", "wren@post.example\nrobin@post.example"), ("declares", "true"));
        Assert.Contains("Two people more can fetch it now", page.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Take it from them: robin@post.example");
        Assert.Equal(["wren@post.example"], page.QuerySelectorAll("tbody th").Select(t => t.Words()));

        var link = page.QuerySelectorAll("main a").Single(a => a.Words() == "Withdraw 1.0.0…").GetAttribute("href")!;
        page = await maker.PageAsync(link);
        Assert.Contains("Nobody fetched it while signed in", page.Body!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndStayAsync(page, "Withdraw 1.0.0 now", ("reason", " "));
        Assert.Contains("Write a reason", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Withdraw 1.0.0 now", ("reason", "It <b>hums</b>."));
        Assert.Contains("It <b>hums</b>.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Empty(page.QuerySelectorAll("main form:not([action*=StopReading])"));
        Assert.Contains("nothing to withdraw", (await maker.PageAsync(link)).Body!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Between_the_seal_and_the_shelf_the_page_waits_on()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/releases/{id}/seal"), "Seal and publish 1.0.0", ("audience", "Members"), ("declares", "true"));
        await host.RunAsync<SealRelease, SealReleaseOutcome>(seal => seal.RunAsync(id, CancellationToken.None));
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.NotNull(page.QuerySelector("[data-far=publishing]"));
        Assert.Contains("is being put on the shelf", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Empty(page.QuerySelectorAll("main form"));

        await RunSealJobAsync(host, id);
        page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Equal("reading", page.QuerySelector("[data-far]")!.GetAttribute("data-far"));
        await FarAsync(host, $"digest:{await host.AskDbAsync(db => db.Archives.Where(a => a.ReleaseId == id).Select(a => a.Id).SingleAsync())}", bytes: 3_000_000_000);
        Assert.Contains("1.5 GB of 3.0 GB", (await maker.PageAsync($"/workbench/releases/{id}/seal")).QuerySelector("[data-far=reading]")!.Words(), StringComparison.Ordinal);

        // Stopped, it says what that means, and nobody reads until it is asked for; a second press says so.
        var running = await maker.PageAsync($"/workbench/releases/{id}/seal");
        page = await maker.PressAndFollowAsync(running, "Stop reading it through");
        Assert.Null(page.QuerySelector("[data-far=reading]"));
        Assert.Contains("You stopped the reading through of Mended Kettle 1.0.0.zip on ", page.QuerySelector(".stopped")!.Words(), StringComparison.Ordinal);
        Assert.Contains("nothing was stopped", (await maker.PressAndFollowAsync(running, "Stop reading it through")).Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("1.0.0 Stopped by you: reading its archive through.", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);
        Assert.IsType<DigestArchiveOutcome.NotWanted>(await host.RunAsync<DigestArchive, DigestArchiveOutcome>(async digest =>
            await digest.RunAsync(await host.AskDbAsync(db => db.Archives.Where(a => a.ReleaseId == id).Select(a => a.Id).SingleAsync()), CancellationToken.None)));
        page = await maker.PressAndFollowAsync(page, "Read it through");
        Assert.NotNull(page.QuerySelector("[data-far=reading]"));
        Assert.Null(page.QuerySelector(".stopped"));

        await host.WithDbAsync(db => db.Archives.ExecuteUpdateAsync(a => a.SetProperty(x => x.Sha256, new string('a', 64))));
        Assert.Contains("will be made in a moment", (await maker.PageAsync($"/workbench/releases/{id}/seal")).QuerySelector("[data-far=listening]")!.Words(), StringComparison.Ordinal);
        await FarAsync(host, $"listen:{id}", things: 80);
        Assert.Contains("40 of 80 sounds", (await maker.PageAsync($"/workbench/releases/{id}/seal")).QuerySelector("[data-far=listening]")!.Words(), StringComparison.Ordinal);
        // Not now, and then after all.
        page = await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/releases/{id}/seal"), "Not now");
        Assert.Contains("1.0.0 Stopped by you: the making of what can be heard of it.", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("[data-far=listening]"));
        Assert.Contains("You stopped the making of what can be heard of 1.0.0 on ", page.Body!.Words(), StringComparison.Ordinal);
        Assert.IsType<MakeListeningOutcome.NothingToDo>(await host.RunAsync<MakeListening, MakeListeningOutcome>(make => make.RunAsync(id, CancellationToken.None)));
        Assert.NotNull((await maker.PressAndFollowAsync(page, "Make it now")).QuerySelector("[data-far=listening]"));
        Assert.IsType<MakeListeningOutcome.Made>(await host.RunAsync<MakeListening, MakeListeningOutcome>(make => make.RunAsync(id, CancellationToken.None)));
        // A hold that is left of something that can be heard waits for nobody.
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r.SetProperty(x => x.ListenHeldAt, DateTimeOffset.UnixEpoch)));
        Assert.DoesNotContain("Stopped by you", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);
        // Of the seal nothing is left to wait for; the mails about the version go their own way.
        Assert.Equal(["mails-version"], (await maker.PageAsync($"/workbench/releases/{id}/seal")).QuerySelectorAll("[data-far]").Select(f => f.GetAttribute("data-far")));

        // Half of it is done.
        static Task FarAsync(ShelfHost host, string name, long bytes = 0, int things = 0) => host.WithDbAsync(db =>
        {
            db.WorkProgress.Add(new WorkProgress { Name = name, Done = things / 2, Total = things, DoneBytes = bytes / 2, TotalBytes = bytes });
            return db.SaveChangesAsync();
        });
    }

    [Fact]
    public async Task The_comparing_before_a_seal_shows_how_far_it_is_and_stopped_the_version_is_sealed_without()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var (first, id) = await SealedAndNextAsync(host, maker);
        await WriteAsync(host, id);
        var address = $"/workbench/releases/{id}/seal";
        await maker.PressAndFollowAsync(await maker.PageAsync(address), "Seal 1.1.0");
        await host.WithDbAsync(db =>
        {
            db.WorkProgress.Add(new WorkProgress { Name = $"compare:{id}:{first}", Done = 3, Total = 8 });
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync(address);
        Assert.Equal("comparing", page.QuerySelector("[data-far]")!.GetAttribute("data-far"));
        Assert.Contains("1.1.0 is being held against 1.0.0: recordings that differ are listened to side by side. Then it is sealed. 3 of 8 recordings listened to.", page.Body!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Stop comparing, and seal it without");
        Assert.Contains("Comparing was stopped; the version is sealed without it.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal("sealing", page.QuerySelector("[data-far]")!.GetAttribute("data-far"));
        await RunSealJobAsync(host, id);
        Assert.Equal(ReleaseState.Sealed, await host.AskDbAsync(db => db.Releases.Where(r => r.Id == id).Select(r => r.State).SingleAsync()));
        Assert.Equal("", await host.AskDbAsync(db => db.ReleaseComparisons.Where(c => c.ReleaseId == id).Select(c => c.Outcome).SingleAsync()));
    }

    [Fact]
    public async Task Comparing_is_stopped_by_a_button_that_says_what_is_kept_and_goes_on_when_asked()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var (first, id) = await SealedAndNextAsync(host, maker);
        var address = $"/workbench/releases/{id}/changes";
        var running = await maker.PageAsync(address);
        Assert.NotNull(running.QuerySelector("[data-far=comparing]"));

        var page = await maker.PressAndFollowAsync(running, "Stop comparing");
        Assert.Contains("You stopped comparing 1.1.0 with 1.0.0 on ", page.QuerySelector(".stopped")!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("[data-far]"));
        Assert.Contains("Comparing them was stopped.", await (await maker.GetAsync($"{address}.json")).Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Contains("It was stopped before", (await maker.PressAndFollowAsync(running, "Stop comparing")).Body!.Words(), StringComparison.Ordinal);
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync());
        Assert.Contains("1.1.0 Stopped by you: comparing it with an earlier version.", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);

        Assert.NotNull((await maker.PressAndFollowAsync(page, "Compare them now")).QuerySelector("[data-far=comparing]"));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync());
        Assert.Contains("had ended before it could be stopped", (await maker.PressAndFollowAsync(running, "Stop comparing")).Body!.Words(), StringComparison.Ordinal);

        // Compared anew and stopped, it shows what was found before, and says so.
        page = await maker.PressAndFollowAsync(page, "Compare them now");
        page = await maker.PressAndFollowAsync(page, "Stop comparing");
        Assert.Contains("What stands here was found before.", page.QuerySelector(".stopped")!.Words(), StringComparison.Ordinal);
        Assert.NotNull(page.QuerySelector("form[action*=Take]"));

        // It went wrong, and is asked for again: that is on its way, and no more what went wrong.
        await host.WithDbAsync(db => db.ReleaseComparisons.ExecuteUpdateAsync(s => s.SetProperty(c => c.Trouble, "The disk was full.").SetProperty(c => c.StoppedAt, (DateTimeOffset?)null)));
        page = await maker.PageAsync(address);
        Assert.Contains("The disk was full.", page.Body!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Compare again");
        Assert.NotNull(page.QuerySelector("[data-far=comparing]"));
        Assert.DoesNotContain("The disk was full.", page.Body!.Words(), StringComparison.Ordinal);
        using var answer = await maker.GetAsync($"{address}.json");
        Assert.Equal(System.Net.HttpStatusCode.Accepted, answer.StatusCode);
        Assert.DoesNotContain("Stopped by you", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);

        Task<CompareReleasesOutcome> CompareAsync() => host.RunAsync((CompareReleases compare) => compare.RunAsync(id, first, CancellationToken.None));
    }

    [Fact]
    public async Task Words_and_folder_of_a_sealed_release_are_shown_and_can_not_be_changed()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        var words = await maker.PageAsync($"/workbench/releases/{id}/words");
        await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/releases/{id}/seal"), "Seal 1.0.0");
        await RunSealJobAsync(host, id);
        // Choosing what of the sheet is shown changes nothing; every form that could is gone.
        foreach (var part in new[] { "", "/sheet", "/words" })
            Assert.Empty((await maker.PageAsync($"/workbench/releases/{id}{part}")).QuerySelectorAll("main form:not([method=get])"));

        // A page opened before the sealing still has its form: its press is refused with words.
        words = await maker.PressAndStayAsync(words, "Save the words", ("Notes", "Other."));
        Assert.Contains("is sealed and can’t be changed", words.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.Equal("First jars.", await host.AskDbAsync<string>(db => db.Releases.Select(r => r.Notes).SingleAsync()));
    }

    [Fact]
    public async Task In_a_planned_drop_it_is_sealed_and_waits_and_goes_out_with_it()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await ReadyAsync(host);
        var before = await maker.PageAsync($"/workbench/releases/{id}/seal"); // open in another tab since before it stood in the drop
        await host.WithDbAsync(async db =>
        {
            db.Drops.Add(new Drop { Id = 3, Month = new(2026, 12), DueAt = new(2026, 12, 1, 9, 0, 0, TimeSpan.Zero), CreatedAt = DateTimeOffset.UnixEpoch });
            db.DropReleases.Add(new DropRelease { DropId = 3, ReleaseId = id });
            await db.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.DeclaredAt, DateTimeOffset.UnixEpoch));
            await db.SaveChangesAsync();
        });
        var page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("the drop of December 2026, which goes out on 1 December 2026 at 09:00", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal(["Seal 1.0.0"], page.QuerySelectorAll("main .bar button").Select(b => b.Words()));

        await maker.PressAndFollowAsync(before, "Seal and publish 1.0.0", ("audience", "Members"));
        await RunSealJobAsync(host, id);
        Assert.Equal((ReleaseState.Scheduled, null), await StandingAsync(host));
        page = await maker.PageAsync($"/workbench/releases/{id}/seal");
        Assert.Contains("Waits for its drop", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal("/workbench/drops/2026-12", page.QuerySelectorAll("main .bar a:not([data-far-over] > a)").Single().GetAttribute("href"));
        Assert.Equal(PublishReleaseOutcome.WaitsForItsDrop, await host.RunAsync<PublishRelease, PublishReleaseOutcome>(
            p => p.RunAsync(id, Audience.Members, declares: false, null, CancellationToken.None)));

        await host.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, DateTimeOffset.UnixEpoch)));
        Assert.Null(await RunDropJobAsync(host, 3));
        Assert.Equal((ReleaseState.Published, Audience.Members), await StandingAsync(host));
        Assert.Contains("the drop of December 2026", (await maker.PageAsync($"/workbench/releases/{id}/seal")).Body!.Words(), StringComparison.Ordinal);
    }

    private static Task<string?> RunDropJobAsync(ShelfHost host, long drop) => host.RunAsync((IServiceProvider services) =>
        Microsoft.Extensions.DependencyInjection.ActivatorUtilities.CreateInstance<DropJob>(services).RunAsync(drop, CancellationToken.None));

    private static async Task<long> ReadyAsync(ShelfHost host)
    {
        var id = await host.ReleaseAsync();
        await host.FileAsync(id, "a.wav", "a");
        await host.CheckedAsync(id);
        await WriteAsync(host, id);
        return id;
    }

    private static Task WriteAsync(ShelfHost host, long id) => host.RunAsync((EditRelease edit) => edit.RunAsync(
        id, new ReleaseWords("First jars.", "CC0-1.0", "", "", [new PlayerWords("Pondskater", "2.3")]), CancellationToken.None));

    private static async Task<(long First, long Next)> SealedAndNextAsync(ShelfHost host, HttpClient maker)
    {
        var first = await ReadyAsync(host);
        await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/releases/{first}/seal"), "Seal 1.0.0");
        await RunSealJobAsync(host, first);
        var id = Assert.IsType<StartReleaseOutcome.Started>(await host.RunAsync((StartRelease start) => start.RunAsync("kettle", "1.1.0", CancellationToken.None))).ReleaseId;
        await host.FileAsync(id, "b.wav", "b");
        await host.CheckedAsync(id);
        return (first, id);
    }

    private static Task<bool> RunSealJobAsync(ShelfHost host, long id) => host.RunAsync(async (IServiceProvider services) =>
    {
        await Microsoft.Extensions.DependencyInjection.ActivatorUtilities.CreateInstance<SealJob>(services).RunAsync(id, CancellationToken.None);
        return true;
    });

    private static Task<(ReleaseState, Audience?)> StandingAsync(ShelfHost host) => host.AskDbAsync<(ReleaseState, Audience?)>(async db =>
    {
        var release = await db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences).SingleAsync();
        return (release.State, release.Library.AudienceAt(DateTimeOffset.MaxValue));
    });
}
