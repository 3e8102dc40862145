using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
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
        await using (var context = await Shelf.Browser.NewContextAsync())
            await Walk.ClaimAsync(await context.NewPageAsync(), Shelf);
        // The accounts' tables depend on this option, as the host sets it.
        await using var services = new ServiceCollection().Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, new DataPaths(Shelf.DataDirectory).Database);
        options.UseApplicationServiceProvider(services);
        await using var db = new ShelfDb(options.Options);
        await ManyBoxes.AddAsync(db, Boxes, TimeProvider.System.GetUtcNow().AddHours(-1));
    }

    public Task DisposeAsync() => Shelf.DisposeAsync();

    public async Task<IPage> PageAsync(int width, string path = "/", bool withScript = true, bool withTouch = false)
    {
        var context = await Shelf.Browser.NewContextAsync(new() { ViewportSize = new() { Width = width, Height = 900 }, JavaScriptEnabled = withScript, HasTouch = withTouch });
        // What moves after it has been painted, except within half a second of what somebody does (Layout Instability, W3C draft).
        if (withScript)
            await context.AddInitScriptAsync("window.shifted = []; new PerformanceObserver(list => { for (const e of list.getEntries()) if (!e.hadRecentInput) window.shifted.push(e); }).observe({ type: 'layout-shift', buffered: true });");
        var page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(Shelf.Address, path).ToString(), new() { WaitUntil = WaitUntilState.NetworkIdle });
        return page;
    }
}
