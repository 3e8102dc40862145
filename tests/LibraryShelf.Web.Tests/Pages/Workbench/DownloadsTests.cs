using System.Net;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Tests.Endpoints;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class DownloadsTests
{
    private const string Wren = "wren@post.example";

    [Fact]
    public async Task The_maker_sees_who_took_what_and_closes_a_link()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var maker = await shelf.Host.MakerAsync();
        Assert.Contains("Nobody has pressed", (await maker.PageAsync("/workbench/downloads")).QuerySelector(".empty")!.Words(), StringComparison.Ordinal);
        var (visitors, wrens) = (await shelf.LinkAsync(), await shelf.LinkAsync((await shelf.Host.PersonAsync(Wren)).Id));
        using (await shelf.GetAsync(wrens.Path)) { }
        await shelf.EventsAsync(wrens.DownloadId, e => e.Count > 0);
        await shelf.CountAsync(wrens.DownloadId);

        var page = await maker.PageAsync("/workbench/downloads");
        Assert.Contains("Two links here still work.", page.QuerySelector("p.quiet")!.Words(), StringComparison.Ordinal);
        var row = page.QuerySelectorAll("tbody tr").Single(r => r.TextContent.Contains(Wren, StringComparison.Ordinal));
        Assert.Equal("Flügel & Tin 1.0.0", row.QuerySelector("th")!.Words());
        Assert.Equal("25 November 2026 at 12:00", row.QuerySelector("[data-label=Finished]")!.Words());

        var after = await maker.PressAndFollowAsync(page, "Close this link to Flügel & Tin 1.0.0 for " + Wren);
        Assert.Contains("The link is closed", after.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        Assert.Contains("closed on 25 November 2026", after.QuerySelector("table")!.TextContent, StringComparison.Ordinal);
        using (var refused = await shelf.GetAsync(wrens.Path, ("Range", "bytes=0-9"))) Assert.Equal(HttpStatusCode.Gone, refused.StatusCode);
        using (var good = await shelf.GetAsync(visitors.Path)) Assert.Equal(HttpStatusCode.OK, good.StatusCode);
        // The old page's button once more: said, not done twice.
        Assert.Contains("was closed already", (await maker.PressAndFollowAsync(page, "Close this link to Flügel & Tin 1.0.0 for " + Wren)).QuerySelector(".notice.listen-again")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task All_open_links_of_one_person_are_closed_together_and_nobody_elses()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var maker = await shelf.Host.MakerAsync();
        var wren = (await shelf.Host.PersonAsync(Wren)).Id;
        var (one, other, visitors) = (await shelf.LinkAsync(wren), await shelf.LinkAsync(wren), await shelf.LinkAsync());
        var member = await maker.PageAsync((await maker.PageAsync("/workbench/members")).QuerySelectorAll("table th a").Single(a => a.Words() == Wren).GetAttribute("href")!);
        var path = member.QuerySelectorAll("a.button").Single(a => a.Words() == "Downloads").GetAttribute("href")!;
        var after = await maker.PressAndFollowAsync(await maker.PageAsync(path), "Close all open links of this person");
        Assert.Contains("Two links closed.", after.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("a visitor", after.QuerySelector("table")!.TextContent, StringComparison.Ordinal);
        foreach (var link in new[] { one, other })
        {
            using var refused = await shelf.GetAsync(link.Path);
            Assert.Equal(HttpStatusCode.Gone, refused.StatusCode);
        }
        using var good = await shelf.GetAsync(visitors.Path);
        Assert.Equal(HttpStatusCode.OK, good.StatusCode);
    }

    [Fact]
    public async Task Links_that_ran_out_have_no_button_and_unknown_ones_are_not_found()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var maker = await shelf.Host.MakerAsync();
        await shelf.LinkAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        var page = await maker.PageAsync("/workbench/downloads?library=fluegel-and-tin");
        Assert.Equal("ran out unused", page.QuerySelector("[data-label=Link]")!.Words());
        Assert.DoesNotContain(page.QuerySelectorAll("button"), b => b.Words().StartsWith("Close", StringComparison.Ordinal));
        foreach (var path in new[] { "/workbench/downloads?library=no-such-box", "/workbench/downloads?person=4711" })
        {
            using var answer = await maker.GetAsync(new Uri(path, UriKind.Relative));
            Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        }
    }

    [Fact]
    public async Task Older_downloads_are_on_a_page_of_their_own_and_a_link_closed_there_leads_back_to_it()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var maker = await shelf.Host.MakerAsync();
        var link = await shelf.LinkAsync();
        var oldest = await shelf.DownloadAsync(link.DownloadId);
        await shelf.Host.AskDbAsync(db =>
        {
            for (var i = 0; i < 200; i++)
                db.Downloads.Add(new Download
                {
                    Id = $"d{i}", ArchiveId = oldest.ArchiveId, ReleaseId = oldest.ReleaseId, LibraryId = oldest.LibraryId, Why = oldest.Why, MadeAt = oldest.MadeAt.AddSeconds(1 + i), StartBy = oldest.MadeAt.AddSeconds(2 + i), FinishBy = oldest.FinishBy,
                });
            return db.SaveChangesAsync();
        });
        shelf.Clock.Advance(TimeSpan.FromMinutes(5));
        var newest = await maker.PageAsync("/workbench/downloads");
        Assert.Equal(200, newest.QuerySelectorAll("tbody tr").Length);
        var path = newest.QuerySelectorAll("a").Single(a => a.Words() == "Older downloads").GetAttribute("href")!;
        Assert.DoesNotContain("d0", path, StringComparison.Ordinal);
        var older = await maker.PageAsync(path);
        Assert.Single(older.QuerySelectorAll("tbody tr"));
        Assert.StartsWith("Downloads made until 25 November 2026 at 12:00: all boxes.", older.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        var after = await maker.PressAndFollowAsync(older, "Close this link to Flügel & Tin 1.0.0 for a visitor");
        Assert.Contains("closed on 25 November 2026", Assert.Single(after.QuerySelectorAll("tbody tr")).TextContent, StringComparison.Ordinal);
        Assert.Equal(200, (await maker.PageAsync(after.QuerySelectorAll("a").Single(a => a.Words() == "The newest downloads").GetAttribute("href")!)).QuerySelectorAll("tbody tr").Length);
        foreach (var wrong in new[] { "x", "1.2.3", "-5.0", "999999999999999999.0", "1.-1", "1.999999" })
            Assert.Equal(200, (await maker.PageAsync("/workbench/downloads?from=" + wrong)).QuerySelectorAll("tbody tr").Length);
        Assert.Contains("no older downloads", (await maker.PageAsync("/workbench/downloads?from=1.0")).QuerySelector(".empty")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nobody_else_may_close_a_link_and_no_form_without_its_token()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        var maker = await shelf.Host.MakerAsync();
        foreach (var (client, expected) in new[]
        {
            (shelf.Host.Visitor(), HttpStatusCode.Redirect), (await shelf.Host.SignedInAsync(Wren), HttpStatusCode.Redirect), (maker, HttpStatusCode.BadRequest),
        })
        {
            using var form = new FormUrlEncodedContent([new("id", link.DownloadId)]);
            using var answer = await client.PostAsync(new Uri("/workbench/downloads?handler=Close", UriKind.Relative), form);
            Assert.Equal(expected, answer.StatusCode);
        }
        Assert.Null((await shelf.DownloadAsync(link.DownloadId)).RevokedAt);
        Assert.True(await shelf.Host.AskDbAsync(db => db.Downloads.AllAsync(d => d.RevokedAt == null)));
    }
}
