using System.Net;
using AngleSharp;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class RefusedLinkTests
{
    private static async Task<IElement> RefusedAsync(StockedHost shelf, string path, HttpStatusCode status)
    {
        using var answer = await shelf.GetAsync(path, ("Range", "bytes=0-9"));
        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("text/html", answer.Content.Headers.ContentType!.MediaType);
        Assert.True(answer.Headers.CacheControl!.NoStore);
        Assert.Null(answer.Headers.ETag);
        var body = await answer.Content.ReadAsStringAsync();
        Assert.DoesNotContain("PK\u0003\u0004", body, StringComparison.Ordinal);
        var page = await BrowsingContext.New().OpenAsync(r => r.Content(body));
        return Assert.Single(page.QuerySelectorAll("main"));
    }

    private static void LeadsTo(IElement main, string path) => Assert.Equal(path, Assert.Single(main.QuerySelectorAll("a")).GetAttribute("href"));

    [Fact]
    public async Task A_link_that_ran_out_says_when_and_leads_to_a_fresh_one()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        shelf.Clock.Advance(TimeSpan.FromMinutes(47));
        var main = await RefusedAsync(shelf, link.Path, HttpStatusCode.Gone);
        Assert.Contains("This link was made 47 minutes ago and worked for 30 minutes.", main.Words(), StringComparison.Ordinal);
        Assert.Contains("Nothing is lost. Make a fresh link for Flügel & Tin 1.0.0", main.Words(), StringComparison.Ordinal);
        LeadsTo(main, "/boxes/fluegel-and-tin");
    }

    [Fact]
    public async Task A_started_download_goes_on_after_the_start_time_until_the_resume_time()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        using (await shelf.GetAsync(link.Path, ("Range", "bytes=0-99"))) { }
        shelf.Clock.Advance(TimeSpan.FromHours(24));
        using (var late = await shelf.GetAsync(link.Path, ("Range", "bytes=100-"))) Assert.Equal(HttpStatusCode.PartialContent, late.StatusCode);
        shelf.Clock.Advance(TimeSpan.FromHours(3));
        var main = await RefusedAsync(shelf, link.Path, HttpStatusCode.Gone);
        Assert.Contains("a fresh link to the same version goes on where this one stopped", main.Words(), StringComparison.Ordinal);
        LeadsTo(main, "/boxes/fluegel-and-tin");
    }

    [Fact]
    public async Task An_altered_link_gets_a_page_and_no_bytes()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        LeadsTo(await RefusedAsync(shelf, link.Path + "x", HttpStatusCode.Forbidden), "/boxes/fluegel-and-tin");
        LeadsTo(await RefusedAsync(shelf, link.Path + "&x=1", HttpStatusCode.Forbidden), "/");
        LeadsTo(await RefusedAsync(shelf, link.Path.Replace("%20", "+", StringComparison.Ordinal), HttpStatusCode.Forbidden), "/");
        LeadsTo(await RefusedAsync(shelf, "/get/", HttpStatusCode.Forbidden), "/");
        LeadsTo(await RefusedAsync(shelf, "/get/a/b/c/d", HttpStatusCode.Forbidden), "/");
        LeadsTo(await RefusedAsync(shelf, link.Path.Replace(link.DownloadId, "AAAAAAAAAAAAAAAAAAAAAA", StringComparison.Ordinal), HttpStatusCode.NotFound), "/");
        Assert.Null((await shelf.DownloadAsync(link.DownloadId)).StartedAt);
    }

    [Fact]
    public async Task A_revoked_link_and_a_withdrawn_version_say_so()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var (closed, withdrawn) = (await shelf.LinkAsync(), await shelf.LinkAsync());
        Assert.True(await shelf.Host.RunAsync<RevokeDownload, bool>(revoke => revoke.RunAsync(closed.DownloadId, default)));
        Assert.Contains("The maker has closed this link.", (await RefusedAsync(shelf, closed.Path, HttpStatusCode.Gone)).Words(), StringComparison.Ordinal);

        await shelf.Host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync();
            release.MoveTo(ReleaseState.Withdrawn, shelf.Clock.GetUtcNow());
            release.WithdrawnBecause = "The <tin> rattles.";
            await db.SaveChangesAsync();
        });
        var main = await RefusedAsync(shelf, withdrawn.Path, HttpStatusCode.Gone);
        Assert.Contains("The maker has taken Flügel & Tin 1.0.0 off the shelf, and says why: “The <tin> rattles.”", main.Words(), StringComparison.Ordinal);
        LeadsTo(main, "/boxes/fluegel-and-tin"); // the box tells the story of what was there
    }

    [Fact]
    public async Task A_download_that_runs_while_its_version_is_withdrawn_runs_to_its_end_and_is_not_resumed()
    {
        // More than the sockets on both sides swallow, so that the answer still runs when the version goes.
        await using var shelf = await StockedHost.MakeAsync(64 << 20);
        var link = await shelf.LinkAsync();
        using var client = shelf.Client();
        using var answer = await client.GetAsync(new Uri(link.Path, UriKind.Relative), HttpCompletionOption.ResponseHeadersRead);
        await using var body = await answer.Content.ReadAsStreamAsync();
        var bytes = new byte[shelf.Whole.Length];
        await body.ReadExactlyAsync(bytes.AsMemory(0, 1000));
        Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await shelf.Host.RunAsync<WithdrawRelease, WithdrawReleaseOutcome>(
            withdraw => withdraw.RunAsync(shelf.ReleaseId, "It rattles.", null, default)));
        Assert.Contains("It rattles.", (await RefusedAsync(shelf, link.Path, HttpStatusCode.Gone)).Words(), StringComparison.Ordinal);
        using var resumed = await shelf.GetAsync(link.Path, ("Range", "bytes=1000-"));
        Assert.Equal(HttpStatusCode.Gone, resumed.StatusCode);
        await body.ReadExactlyAsync(bytes.AsMemory(1000));
        Assert.True(bytes.AsSpan().SequenceEqual(shelf.Whole));
        // It was fetched, and counts as fetched.
        await shelf.EventsAsync(link.DownloadId, events => events.Sum(e => e.To - e.From) == shelf.Whole.Length);
        Assert.NotNull((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
    }

    [Fact]
    public async Task A_fault_of_the_shelf_is_called_one()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        File.Delete(Path.Combine(shelf.Host.DataFolder, "blobs", shelf.RecipeSha256[..2], shelf.RecipeSha256[2..4], shelf.RecipeSha256));
        Assert.Contains("That is a fault of the shelf", (await RefusedAsync(shelf, link.Path, HttpStatusCode.ServiceUnavailable)).Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_page_by_itself_is_not_there()
    {
        await using var shelf = await StockedHost.MakeAsync(10);
        using var answer = await shelf.GetAsync("/link-problem");
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
    }
}
