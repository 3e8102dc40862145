using System.Net;
using System.Security.Cryptography;
using System.Text;
using AngleSharp.Html.Parser;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>The maker plans a month at the workbench, and nobody else sees of it more than that it comes.</summary>
public sealed class DropPagesTests
{
    // 12:00 in Lisbon, six days before the first of December.
    private static readonly DateTimeOffset Today = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task A_month_is_planned_filled_and_called_off_without_script()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await SealedAsync(host);
        await host.RunAsync((GrantMembership grant) => grant.RunAsync("dunlin@post.example", null, null, null, default));
        Assert.Null((await maker.PageAsync("/workbench")).GetElementById("next-drop"));

        var page = await maker.PageAsync("/workbench/drops/2026-12");
        var past = await maker.PressAndStayAsync(page, "Plan it", ("Title", "Kiln <month>"), ("Day", "date"), ("Date", "2026-11-01"));
        Assert.Equal("A drop can come later than its month, and not before it. Choose a later date.", past.GetElementById("Day-error")!.Words());
        Assert.Equal("Kiln <month>", past.QuerySelector("[name=Title]")!.GetAttribute("value"));

        page = await maker.PressAndFollowAsync(past, "Plan it", ("Day", "1 friday"), ("Time", "18:30"));
        Assert.Equal("It goes out by itself on Friday 4 December, 18:30, Lisbon time: 9 days left.", page.QuerySelector(".said")!.Words());
        Assert.Equal("December has no library. Put one in", page.QuerySelector("ul.got")!.Words());
        var first = await maker.PageAsync("/workbench");
        Assert.Contains("December has no library.", first.GetElementById("next-drop")!.ParentElement!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Put it in");
        Assert.Contains("Tin Bells 1.1.0 Waits for its drop", page.QuerySelector("table")!.Words(), StringComparison.Ordinal);
        Assert.Contains("Kiln <month>", page.QuerySelector(".slip")!.Words(), StringComparison.Ordinal);
        // Letters have to say where their sender lives; it is not what keeps the drop.
        Assert.Contains("No postal address is set.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("No postal address is set.", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);
        await host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.PostalAddress, "The Old Net Loft")));
        page = await maker.PageAsync("/workbench/drops/2026-12");
        Assert.Contains("Nothing. You have nothing more to do.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("postal address", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Send me a rehearsal");
        Assert.Equal(["Rehearsal: December 2026: Kiln <month>"], await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("rehearsal:")).Select(m => m.Subject).ToListAsync()));
        using var letter = await maker.GetAsync(new Uri("/workbench/drops/2026-12?handler=Letter", UriKind.Relative));
        var shown = await letter.Content.ReadAsStringAsync();
        Assert.Contains("Tin Bells 1.1.0", shown, StringComparison.Ordinal);
        var policy = Assert.Single(letter.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("; sandbox", policy, StringComparison.Ordinal);
        Assert.Contains("style-src 'unsafe-hashes' 'sha256-", policy, StringComparison.Ordinal);
        // CSP Level 3 §6.7.3.3: a style attribute holds where its SHA-256, in base64, is named.
        using var read = new HtmlParser().ParseDocument(shown);
        var styles = read.All.Select(e => e.GetAttribute("style")).OfType<string>().ToHashSet(StringComparer.Ordinal);
        Assert.NotEmpty(styles);
        Assert.All(styles, s => Assert.Contains($"'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(s)))}'", policy, StringComparison.Ordinal));

        var asked = await maker.PressAndStayAsync(page, "See what is told", ("Reason", "The kiln broke."));
        Assert.Empty(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("slip:")).ToListAsync()));
        Assert.Contains("The kiln broke.\n\nIt is planned for Friday 4 December 2026 now.", asked.QuerySelector("#ask pre")!.TextContent, StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(asked, "Tell them now");
        Assert.Contains("members were told that December 2026 slips.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Single(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("slip:")).ToListAsync()));

        // They were told of it, so another day and another month take two presses; words alone do not.
        page = await maker.PressAndFollowAsync(page, "Keep the plan", ("Note", "Warm bricks."));
        asked = await maker.PressAndStayAsync(page, "Keep the plan", ("Day", "2"));
        Assert.Contains("Who has theirs already is not told anew", asked.GetElementById("ask")!.Words(), StringComparison.Ordinal);
        Assert.Equal("1 friday", await host.AskDbAsync(db => db.Drops.Select(d => d.Day).SingleAsync()));
        page = await maker.PressAndFollowAsync(asked, "Keep the new hour");
        Assert.Equal("2", await host.AskDbAsync(db => db.Drops.Select(d => d.Day).SingleAsync()));
        asked = await maker.PressAndStayAsync(page, "Move it", ("to", "2027-02"));
        Assert.Contains("though members were told of December 2026? The kiln broke. That is what they were told on 25 November 2026.", asked.GetElementById("ask")!.Words(), StringComparison.Ordinal);
        Assert.Single(await host.AskDbAsync(db => db.Drops.ToListAsync()));
        page = await maker.PressAndFollowAsync(asked, "Move it all the same");
        Assert.Equal("It goes out by itself on Tuesday 2 February 2027, 18:30, Lisbon time: 69 days left.", page.QuerySelector(".said")!.Words());
        page = await maker.PageAsync("/workbench/drops/2027-02?ask=cancel");
        page = await maker.PressAndFollowAsync(page, "Call it off");
        Assert.StartsWith("It was called off.", page.QuerySelector(".said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(ReleaseState.Sealed, await host.AskDbAsync(db => db.Releases.Where(r => r.Number == "1.1.0").Select(r => r.State).SingleAsync()));
        // What its members were told stays with December, so the form opened before that knows too little.
        using var stale = await maker.PressAsync(past, "Plan it", ("Day", "2"));
        Assert.Equal(HttpStatusCode.Conflict, stale.StatusCode);
    }

    [Fact]
    public async Task Before_it_is_out_nobody_sees_what_it_brings()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        await host.ClaimAsync();
        await SealedAsync(host, ReleaseState.Scheduled);
        await host.WithDbAsync(async db =>
        {
            var drop = new Drop { Month = new(2026, 12), Title = "Kiln month", DueAt = Today.AddDays(6), Zone = "Europe/Lisbon" };
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = await db.Releases.Where(r => r.Number == "1.1.0").Select(r => r.Id).SingleAsync() });
            await db.SaveChangesAsync();
        });
        await host.RunAsync((GrantMembership grant) => grant.RunAsync("dunlin@post.example", null, null, null, default));
        var (visitor, member) = (host.Visitor(), await host.SignedInAsync("dunlin@post.example"));
        Assert.Equal("Next drop: Tuesday 1 December, 12:00, Lisbon time", (await visitor.PageAsync("/")).QuerySelector(".month-next")!.Words());
        foreach (var path in new[] { "/", "/boxes/tin-bells", "/boxes/tin-bells/which-version", "/boxes/tin-bells/versions.json", "/boxes/tin-bells/feed.atom", "/feed.atom", "/sitemap.xml", "/mine" })
        {
            using var answer = await (path == "/mine" ? member : visitor).GetAsync(new Uri(path, UriKind.Relative));
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            var body = await answer.Content.ReadAsStringAsync();
            Assert.Contains(path is "/sitemap.xml" ? "tin-bells" : path is "/" or "/mine" or "/boxes/tin-bells/which-version" ? "Tin Bells" : "1.0.0", body, StringComparison.Ordinal);
            Assert.DoesNotContain("1.1.0", body, StringComparison.Ordinal);
            Assert.DoesNotContain("Kiln month", body, StringComparison.Ordinal);
        }
        using var page = await visitor.GetAsync(new Uri("/drops/2026-12", UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, page.StatusCode);
    }

    [Fact]
    public async Task What_was_late_asks_goes_when_its_maker_says_so_and_can_be_taken_back()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await SealedAsync(host);
        await host.RunAsync((GrantMembership grant) => grant.RunAsync("dunlin@post.example", null, null, null, default));
        var page = await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/drops/2026-12"), "Plan it", ("Day", "1"), ("Time", "09:00"));
        host.Clock!.SetUtcNow(new(2026, 12, 1, 9, 1, 0, TimeSpan.Zero));
        Assert.Contains("December has no library. Nothing of it is out, and nobody was written to. Once it is whole, its page asks you", await RunJobAsync(host), StringComparison.Ordinal);
        page = await maker.PageAsync("/workbench/drops/2026-12");
        Assert.Equal("It was due on Tuesday 1 December, 9:00, Lisbon time. It waits: once nothing is missing, it asks you here whether it is to go out.", page.QuerySelector(".said")!.Words());

        // Three days later it is whole, and nothing goes out in the night.
        host.Clock.SetUtcNow(new(2026, 12, 4, 14, 30, 0, TimeSpan.Zero));
        page = await maker.PressAndFollowAsync(page, "Put it in");
        Assert.Contains("Its hour is past, so it waits for you to say that it goes out.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("it does not go out by itself any more", await RunJobAsync(host), StringComparison.Ordinal);
        const string Ready = "The drop of December 2026 has been ready since Friday 4 December, 14:30, Lisbon time, and asks you: is it to go out?";
        Assert.Contains(Ready, (await maker.PageAsync("/workbench/drops/2026-12")).QuerySelector(".notice")!.Words(), StringComparison.Ordinal);
        var first = await maker.PageAsync("/workbench");
        Assert.Contains(Ready, first.GetElementById("next-drop")!.ParentElement!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(first, "Send it now");
        Assert.Contains("You said that it goes out now: it does at 14:35, in 5 minutes.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Null(await RunJobAsync(host));
        page = await maker.PressAndFollowAsync(page, "Take it back");
        Assert.Contains("It is taken back, and nothing of it went out.", page.Body!.Words(), StringComparison.Ordinal);
        host.Clock.Advance(TimeSpan.FromMinutes(6));
        Assert.NotNull(await RunJobAsync(host));
        Assert.Empty(await MailsAsync(host));

        page = await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/drops/2026-12"), "Send it now");
        host.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.Null(await RunJobAsync(host));
        Assert.Single(await MailsAsync(host));
        using var late = await maker.PressAsync(page, "Take it back");
        Assert.Equal(HttpStatusCode.BadRequest, late.StatusCode);
        Assert.Contains("It is out already", await late.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_month_nobody_planned_slips_and_does_not_any_more()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        const string Place = "/workbench/drops/2026-11";
        var asked = await maker.PressAndStayAsync(await maker.PageAsync(Place), "See what is told", ("Reason", "The kiln broke."));
        var page = await maker.PressAndFollowAsync(asked, "Tell them now");
        Assert.Equal("It slips, and no day is planned. Plan it as soon as you know when it comes.", page.QuerySelector(".said")!.Words());
        foreach (var path in new[] { Place, "/workbench/drops", "/workbench", "/" })
            Assert.DoesNotContain("0000", (await maker.PageAsync(path)).Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("November 2026 Slips, no day yet", (await maker.PageAsync("/workbench/drops")).QuerySelector("ol.months")!.Words(), StringComparison.Ordinal);
        Assert.Contains("The kiln broke.", (await host.Visitor().PageAsync("/")).Body!.Words(), StringComparison.Ordinal);

        asked = await maker.PageAsync(page.QuerySelectorAll("a").Single(a => a.Words() == "It does not slip any more…").GetAttribute("href")!.Split('#')[0]);
        Assert.Contains("Say that November 2026 does not slip any more? The kiln broke. That is what members were told on 25 November 2026.", asked.GetElementById("ask")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(asked, "It does not slip any more");
        Assert.StartsWith("Not planned yet.", page.QuerySelector(".said")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("The kiln broke.", (await host.Visitor().PageAsync("/")).Body!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Words_alone_ask_nothing_also_where_its_hour_is_not_what_its_day_comes_to()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        const string Place = "/workbench/drops/2026-12";
        await maker.PressAndFollowAsync(await maker.PageAsync(Place), "Plan it", ("Day", "1"), ("Time", "09:00"));
        // At once: the plan stays as it was, and it comes sooner.
        await host.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.SlippedAt, Today).SetProperty(d => d.IsAtOnce, true).SetProperty(d => d.DueAt, Today.AddMinutes(5))));
        var page = await maker.PageAsync(Place);
        Assert.DoesNotContain("It was out already", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Null((await maker.PageAsync(Place + "?ask=out")).GetElementById("ask"));
        await maker.PressAndFollowAsync(page, "Keep the plan", ("Note", "Warm bricks."));
        Assert.Equal("Warm bricks.", await host.AskDbAsync(db => db.Drops.Select(d => d.Note).SingleAsync()));
    }

    [Fact]
    public async Task Of_a_restored_shelf_its_maker_says_that_it_was_out_already()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await SealedAsync(host);
        await host.RunAsync((GrantMembership grant) => grant.RunAsync("dunlin@post.example", null, null, null, default));
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/drops/2026-12"), "Plan it", ("Day", "1"), ("Time", "09:00"));
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/drops/2026-12"), "Put it in");
        host.Clock!.SetUtcNow(new(2026, 12, 3, 9, 0, 0, TimeSpan.Zero));
        await host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, Today)));
        var held = await maker.PageAsync("/workbench");
        Assert.Contains("goes out if nothing is missing: it was due on", held.QuerySelector("section[aria-labelledby=held] li")!.Words(), StringComparison.Ordinal);
        // One that asks can't be sent while it is held.
        await host.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.AsksSince, d => (DateTimeOffset?)d.DueAt)));
        foreach (var asking in new[] { "/workbench", "/workbench/drops", "/workbench/drops/2026-12" })
        {
            var words = (await maker.PageAsync(asking)).Body!.Words();
            Assert.Contains("While this shelf is held it can’t be sent.", words, StringComparison.Ordinal);
            Assert.DoesNotContain("Send it now", words, StringComparison.Ordinal);
        }
        var place = held.QuerySelector("section[aria-labelledby=held] li a")!.GetAttribute("href")!;
        var page = await maker.PressAndFollowAsync(await maker.PageAsync(place), "It was out already");
        Assert.Contains("It went out on Tuesday 1 December, 9:00, Lisbon time.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Empty(await MailsAsync(host));
        Assert.Equal(ReleaseState.Published, await host.AskDbAsync(db => db.Releases.Where(r => r.Number == "1.1.0").Select(r => r.State).SingleAsync()));
        Assert.Null((await maker.PageAsync("/workbench")).QuerySelector("section[aria-labelledby=held] li a"));
    }

    [Fact]
    public async Task That_the_rules_of_its_time_zone_moved_it_stands_on_its_page()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/drops/2026-12"), "Plan it", ("Day", "1"), ("Time", "09:00"));
        await host.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, new DateTimeOffset(2026, 12, 1, 10, 0, 0, TimeSpan.Zero))));
        Assert.Equal(1, await host.RunAsync((ReckonDropHours reckon) => reckon.RunAsync(default)));
        var page = await maker.PageAsync("/workbench/drops/2026-12");
        Assert.Contains("The rules of Lisbon time have changed since this was planned. It stays at the time on the wall that you chose, 9:00; by the rules as they are now, it would have gone out on Tuesday 1 December, 10:00, Lisbon time.", page.Body!.Words(), StringComparison.Ordinal);
    }

    /// <summary>What the sweep of each minute wakes.</summary>
    private static async Task<string?> RunJobAsync(ShelfHost host)
    {
        var id = await host.AskDbAsync(db => db.Drops.Select(d => d.Id).SingleAsync());
        return await host.RunAsync((IServiceProvider services) => ActivatorUtilities.CreateInstance<DropJob>(services).RunAsync(id, CancellationToken.None));
    }

    private static Task<List<string>> MailsAsync(ShelfHost host) => host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("drop:") || m.Cause.StartsWith("version:")).Select(m => m.Cause).ToListAsync());

    /// <summary>Tin Bells: 1.0.0 on the shelf for members, 1.1.0 sealed.</summary>
    private static Task SealedAsync(ShelfHost host, ReleaseState state = ReleaseState.Sealed) => host.WithDbAsync(async db =>
    {
        var library = await db.AddBoxAsync("Tin Bells", Audience.Members, "struck", "1.0.0");
        var release = new Release { LibraryId = library.Id, Number = "1.1.0", Notes = "Louder." };
        release.MoveTo(ReleaseState.Checked, ShelfRows.FirstDay);
        release.MoveTo(ReleaseState.Sealed, ShelfRows.FirstDay);
        release.MoveTo(state, ShelfRows.FirstDay);
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive { ReleaseId = release.Id, Kind = ArchiveKind.Full, Length = 5, FileName = "tin-bells-1.1.0.zip", RecipeSha256 = new string('8', 64) });
        await db.SaveChangesAsync();
    });
}
