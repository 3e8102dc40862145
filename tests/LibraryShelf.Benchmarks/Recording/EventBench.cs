using System.Diagnostics;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;

namespace LibraryShelf.Benchmarks.Recording;

/// <summary>Download events through the queue and the recorder into SQLite, until all are committed.</summary>
internal static class EventBench
{
    private const int Events = 20_000, Goal = 5_000;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("events"));
        await RecordAsync(shelf);
        var seconds = await bench.InTurnsAsync(_ => RecordAsync(shelf));
        bench.Add("download events recorded on SQLite", Events / seconds[0], "/s", $"≥ {Goal}", Events / seconds[0] >= Goal);
    }

    private static async Task<double> RecordAsync(Shelf shelf)
    {
        var before = await CountAsync(shelf);
        var queue = new EventQueue(TimeProvider.System);
        var writer = new EventWriter(queue, WriteAsync, () => { }, TimeProvider.System, NullLogger.Instance);
        var begun = Stopwatch.GetTimestamp();
        var writing = writer.DrainAsync(CancellationToken.None);
        for (var i = 0; i < Events; i++)
            while (!queue.TryAdd("bench-download-number-" + (i % 100), i, i + 1))
                await Task.Yield();
        queue.Close();
        await writing;
        var seconds = Stopwatch.GetElapsedTime(begun).TotalSeconds;
        var written = await CountAsync(shelf) - before;
        return written == Events ? seconds : throw new InvalidOperationException($"{written} of {Events} events were written.");

        async Task WriteAsync(IReadOnlyList<DownloadEvent> batch)
        {
            await using var db = shelf.Open();
            await new RecordEvents(db).RunAsync(batch, CancellationToken.None);
        }
    }

    private static async Task<int> CountAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        return await db.DownloadEvents.CountAsync();
    }
}
