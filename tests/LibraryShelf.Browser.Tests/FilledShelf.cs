using LibraryShelf.Benchmarks.Making;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A running shelf with many boxes, as rows: only looked at.</summary>
public sealed class FilledShelf : IAsyncLifetime
{
    public const int Boxes = 40;

    public RunningShelf Shelf { get; } = new();

    public async Task InitializeAsync()
    {
        await Shelf.InitializeAsync();
        await using (var context = await Shelf.NewContextAsync())
            await Walk.ClaimAsync(await context.NewPageAsync(), Shelf);
        await ShelfRows.AddAsync(Shelf, (db, now) => ManyBoxes.AddAsync(db, Boxes, now.AddHours(-1)));
    }

    public Task DisposeAsync() => Shelf.DisposeAsync();

    public async Task<IPage> PageAsync(int width, string path = "/", bool withScript = true, bool withTouch = false, int? bytesASecond = null)
    {
        var context = await Shelf.NewContextAsync(new() { ViewportSize = new() { Width = width, Height = 900 }, JavaScriptEnabled = withScript, HasTouch = withTouch });
        // What moves after it has been painted, except within half a second of what somebody does (Layout Instability, W3C draft).
        if (withScript)
            await context.AddInitScriptAsync("window.shifted = []; new PerformanceObserver(list => { for (const e of list.getEntries()) if (!e.hadRecentInput) window.shifted.push(e); }).observe({ type: 'layout-shift', buffered: true });");
        var page = await context.NewPageAsync();
        if (bytesASecond is { } slow)
        {
            var line = await context.NewCDPSessionAsync(page);
            await line.SendAsync("Network.enable");
            await line.SendAsync("Network.emulateNetworkConditions", new() { ["offline"] = false, ["latency"] = 20, ["downloadThroughput"] = slow, ["uploadThroughput"] = slow });
        }
        await page.GotoAsync(new Uri(Shelf.Address, path).ToString(), new() { WaitUntil = WaitUntilState.NetworkIdle });
        return page;
    }
}
