using System.Net;
using LibraryShelf.Core.Downloads;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class UsedUpLinkTests
{
    private static Dictionary<string, string> Most(int downloads) => new() { ["Shelf:Links:MostDownloads"] = $"{downloads}" };

    [Fact]
    public async Task A_link_gives_its_archive_so_many_times_and_then_says_what_to_do()
    {
        await using var shelf = await StockedHost.MakeAsync(Most(2), 5000);
        var link = await shelf.LinkAsync();
        // Halves, a HEAD and a 304: what counts is bytes, not requests.
        for (var i = 0; i < 4; i++)
        {
            var half = shelf.Whole.Length / 2;
            using var part = await shelf.GetAsync(link.Path, ("Range", i % 2 == 0 ? $"bytes=0-{half - 1}" : $"bytes={half}-"));
            Assert.Equal(HttpStatusCode.PartialContent, part.StatusCode);
            using var known = await shelf.GetAsync(link.Path, ("If-None-Match", $"\"{shelf.RecipeSha256}\""));
            Assert.Equal(i < 3 ? HttpStatusCode.NotModified : HttpStatusCode.Gone, known.StatusCode);
        }
        using var answer = await shelf.GetAsync(link.Path);
        Assert.Equal(HttpStatusCode.Gone, answer.StatusCode);
        var page = await answer.Content.ReadAsStringAsync();
        Assert.Contains("Link is used up", page, StringComparison.Ordinal);
        Assert.Contains("href=\"/boxes/fluegel-and-tin\"", page, StringComparison.Ordinal);
        using var fresh = await shelf.GetAsync((await shelf.LinkAsync()).Path);
        Assert.Equal(shelf.Whole, await fresh.Content.ReadAsByteArrayAsync());
    }

    [Fact]
    public async Task Proof_of_what_came_before_does_not_use_a_link_up()
    {
        await using var shelf = await StockedHost.MakeAsync(Most(1), 5000);
        var (link, last) = (await shelf.LinkAsync(), shelf.Whole.Length - 1);
        using (await shelf.GetAsync(link.Path, ("Range", "bytes=0-0"))) { }
        for (var i = 0; i < 20; i++)
        {
            using var resumed = await shelf.GetAsync(link.Path, ("Range", $"bytes={last}-"), ("If-Range", $"\"{shelf.RecipeSha256}\""));
            Assert.Equal(HttpStatusCode.PartialContent, resumed.StatusCode);
        }
        var events = await shelf.EventsAsync(link.DownloadId, e => e.Count == 41);
        Assert.Equal(20, events.Count(e => e.IsEvidence && e.To == last));
    }

    [Fact]
    public async Task An_answer_that_runs_is_not_cut_when_the_link_is_used_up_beside_it()
    {
        await using var shelf = await StockedHost.MakeAsync(Most(1), 48 << 20);
        var link = await shelf.LinkAsync();
        var got = new byte[shelf.Whole.Length];
        using var client = shelf.Client();
        using var slow = await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead);
        await using var stream = await slow.Content.ReadAsStreamAsync();
        await stream.ReadExactlyAsync(got.AsMemory(0, 1 << 20));
        using (var whole = await shelf.GetAsync(link.Path)) Assert.Equal(HttpStatusCode.OK, whole.StatusCode);
        // Used up at once, whether or not the events are written yet.
        using (var third = await shelf.GetAsync(link.Path)) Assert.Equal(HttpStatusCode.Gone, third.StatusCode);
        await stream.ReadExactlyAsync(got.AsMemory(1 << 20));
        Assert.Equal(shelf.Whole, got);
    }

    [Fact]
    public async Task Too_many_at_once_are_told_to_wait_and_let_in_when_others_have_gone()
    {
        await using var shelf = await StockedHost.MakeAsync(Most(100), 24 << 20);
        var link = await shelf.LinkAsync();
        var running = new List<(HttpClient Client, HttpResponseMessage Answer)>();
        for (var i = 0; i < LinkUse.MostAtOnce; i++)
        {
            var client = shelf.Client();
            running.Add((client, await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead)));
            Assert.Equal(HttpStatusCode.OK, running[^1].Answer.StatusCode);
        }
        using (var more = await shelf.GetAsync(link.Path))
        {
            Assert.Equal(HttpStatusCode.TooManyRequests, more.StatusCode);
            Assert.NotNull(more.Headers.RetryAfter);
            Assert.Contains("Those that run go on.", await more.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }
        foreach (var (client, answer) in running)
        {
            answer.Dispose();
            client.Dispose();
        }
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        for (var status = HttpStatusCode.TooManyRequests; status != HttpStatusCode.PartialContent;)
        {
            using var again = await shelf.GetAsync(link.Path, ("Range", "bytes=0-9"));
            status = again.StatusCode;
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System, patience.Token);
        }
    }
}
