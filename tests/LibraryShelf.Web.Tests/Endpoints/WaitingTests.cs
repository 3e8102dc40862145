using System.Net;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>One download at a time, more than the sockets between swallow: whoever comes meanwhile waits.</summary>
public sealed class WaitingTests
{
    private const int Bytes = 24 << 20;
    private static readonly Dictionary<string, string> OneAtATime = new() { ["Shelf:Bandwidth:MostAtOnce"] = "1" };
    private static readonly (string, string) Browser = ("Accept", "text/html,application/xhtml+xml;q=0.9,*/*;q=0.8");

    [Fact]
    public async Task A_browser_waits_on_a_page_that_leads_to_the_download_and_a_program_is_told_when_to_ask_again()
    {
        await using var shelf = await StockedHost.MakeAsync(OneAtATime, Bytes);
        var (first, second, third) = ((await shelf.LinkAsync()).Path, (await shelf.LinkAsync()).Path, (await shelf.LinkAsync()).Path);
        var page = second.Replace("/get/", "/wait/", StringComparison.Ordinal);
        using var client = shelf.Client();
        using (var running = await client.GetAsync(new Uri(shelf.Address, first), HttpCompletionOption.ResponseHeadersRead))
        {
            Assert.Equal(HttpStatusCode.OK, running.StatusCode);
            using (var led = await shelf.GetAsync(second, Browser))
                Assert.Equal((HttpStatusCode.SeeOther, page), (led.StatusCode, led.Headers.Location?.OriginalString));
            var waits = await PageAsync(shelf, page);
            Assert.Contains("You are number 1 in the queue", waits, StringComparison.Ordinal);
            Assert.Contains("<noscript><meta http-equiv=\"refresh\" content=\"15\"></noscript>", waits, StringComparison.Ordinal);
            using (var told = await shelf.GetAsync(third))
            {
                Assert.Equal((HttpStatusCode.ServiceUnavailable, TimeSpan.FromSeconds(15)), (told.StatusCode, told.Headers.RetryAfter?.Delta));
                Assert.Contains("You are number 2 in the queue", await told.Content.ReadAsStringAsync(), StringComparison.Ordinal);
            }
            // Little, nothing, and more of what runs already wait for nobody.
            await AssertIsAsync(HttpStatusCode.PartialContent, shelf, third, ("Range", "bytes=0-99"));
            await AssertIsAsync(HttpStatusCode.NotModified, shelf, third, ("If-None-Match", $"\"{shelf.RecipeSha256}\""));
            await AssertIsAsync(HttpStatusCode.PartialContent, shelf, first, ("Range", $"bytes={Bytes / 2}-"));
            // The link could be begun for half an hour; the place in the queue keeps it.
            for (var minutes = 0; minutes < 36; minutes += 4)
            {
                shelf.Clock.Advance(TimeSpan.FromMinutes(4));
                await PageAsync(shelf, page);
            }
            Assert.Equal(shelf.Whole, await running.Content.ReadAsByteArrayAsync());
        }
        await UntilAsync(async () => (await PageAsync(shelf, page)).Contains("It is your turn", StringComparison.Ordinal));
        Assert.Contains($"<meta http-equiv=\"refresh\" content=\"0; url={WebUtility.HtmlEncode(second)}\">", await PageAsync(shelf, page), StringComparison.Ordinal);
        using var got = await shelf.GetAsync(second, Browser);
        Assert.Equal(shelf.Whole, await got.Content.ReadAsByteArrayAsync());
        Assert.Empty(shelf.Complained);
    }

    [Fact]
    public async Task What_goes_out_keeps_to_the_line()
    {
        // The shelf's clock stands still, so beyond the first piece nothing goes out until it is moved on.
        await using var shelf = await StockedHost.MakeAsync(new Dictionary<string, string> { ["Shelf:Bandwidth:TotalBytesPerSecond"] = "1000000" }, 2 << 20);
        using var client = shelf.Client();
        var link = await shelf.LinkAsync();
        using var answer = await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead);
        var body = answer.Content.ReadAsByteArrayAsync();
        var steps = 0;
        for (; !body.IsCompleted; steps++)
        {
            shelf.Clock.Advance(TimeSpan.FromMilliseconds(100));
            await Task.Delay(1);
        }
        Assert.Equal(shelf.Whole, await body);
        Assert.InRange(steps, 20, int.MaxValue); // 2.1 MB at 1 MB/s are 2.1 s at the least
    }

    private static async Task AssertIsAsync(HttpStatusCode status, StockedHost shelf, string link, params (string, string)[] fields)
    {
        using var answer = await shelf.GetAsync(link, fields);
        Assert.Equal(status, answer.StatusCode);
    }

    private static async Task<string> PageAsync(StockedHost shelf, string page)
    {
        using var answer = await shelf.GetAsync(page);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.True(answer.Headers.CacheControl is { NoStore: true });
        return await answer.Content.ReadAsStringAsync();
    }

    private static async Task UntilAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (!await isTrue())
            await Task.Delay(20, patience.Token);
    }
}
