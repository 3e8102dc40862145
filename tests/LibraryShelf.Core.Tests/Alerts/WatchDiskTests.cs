using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Alerts;

public sealed class WatchDiskTests
{
    private sealed class SetRoom(Func<string, DiskRoom?> room) : IDiskRoom
    {
        public DiskRoom? Of(string folder) => room(folder);
    }

    [Fact]
    public async Task Below_the_limit_it_is_raised_and_settled_only_a_tenth_above()
    {
        await using var shelf = await TempShelf.MakeAsync();
        // Limit 1,000 bytes: settles at 1,100 and not at 1,099.
        foreach (var (free, stands) in new[] { (1000L, false), (999, true), (998, true), (1000, true), (1099, true), (1100, false), (999, true) })
        {
            await WatchAsync(shelf, _ => new DiskRoom(50_000, free));
            Assert.True(stands == (await StandingAsync(shelf)).Count > 0, $"{free} bytes free");
        }
        await using var db = shelf.Open();
        Assert.Equal(1, await db.Alerts.CountAsync());
    }

    [Fact]
    public async Task The_percentage_counts_where_it_is_more_and_the_fullest_volume_is_named()
    {
        await using var shelf = await TempShelf.MakeAsync();
        // 5 % of 100 GB are 5 GB.
        DiskRoom Room(string folder) => folder == shelf.Paths.Blobs ? new(100_000_000_000, 4_900_000_000) : new(20_000_000_000, 9_000_000_000);
        Assert.Equal(WatchDiskOutcome.EnoughRoom, await WatchAsync(shelf, Room, percent: 4));
        Assert.Equal(WatchDiskOutcome.NearlyFull, await WatchAsync(shelf, Room, percent: 5));
        Assert.StartsWith("The shelf’s disk with the recordings is nearly full: 4.9 GB of 100.0 GB are free.",
            Assert.Single(await StandingAsync(shelf)).Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Where_the_system_does_not_say_nothing_is_raised_and_nothing_settled()
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.Equal(WatchDiskOutcome.Unknown, await WatchAsync(shelf, _ => null));
        await WatchAsync(shelf, _ => new DiskRoom(50_000, 1));
        Assert.Equal(WatchDiskOutcome.Unknown, await WatchAsync(shelf, _ => null));
        Assert.Single(await StandingAsync(shelf));
    }

    private static async Task<WatchDiskOutcome> WatchAsync(TempShelf shelf, Func<string, DiskRoom?> room, int percent = 0)
    {
        await using var db = shelf.Open();
        var settings = Options.Create(new ShelfSettings { Disk = new() { NearlyFullBytes = 1000, NearlyFullPercent = percent } });
        return await new WatchDisk(db, new SetRoom(room), shelf.Paths, settings, shelf.Clock).RunAsync(CancellationToken.None);
    }

    private static async Task<IReadOnlyList<Alert>> StandingAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return (await new ReadAlerts(db).RunAsync(CancellationToken.None)).Newest;
    }
}
