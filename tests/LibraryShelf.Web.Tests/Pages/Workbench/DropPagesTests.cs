using System.Net;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;

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
        Assert.Contains("Nothing. You have nothing more to do.", page.Body!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Send me a rehearsal");
        Assert.Equal(["Rehearsal: December 2026: Kiln <month>"], await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("rehearsal:")).Select(m => m.Subject).ToListAsync()));
        using var letter = await maker.GetAsync(new Uri("/workbench/drops/2026-12?handler=Letter", UriKind.Relative));
        Assert.Contains("Tin Bells 1.1.0", await letter.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Contains("sandbox", Assert.Single(letter.Headers.GetValues("Content-Security-Policy")), StringComparison.Ordinal);

        var asked = await maker.PressAndStayAsync(page, "See what is told", ("Reason", "The kiln broke."));
        Assert.Empty(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("slip:")).ToListAsync()));
        page = await maker.PressAndFollowAsync(asked, "Tell them now");
        Assert.Contains("The kiln broke.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Single(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("slip:")).ToListAsync()));

        page = await maker.PressAndFollowAsync(page, "Move it", ("to", "2027-02"));
        Assert.Equal("It goes out by itself on Friday 5 February 2027, 18:30, Lisbon time: 72 days left.", page.QuerySelector(".said")!.Words());
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
