using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Holding;

/// <summary>Counts every tally again, by sorting where the shelf merges, so that the two share no mistake.</summary>
internal static class Recount
{
    public static async Task<IEnumerable<string>> WrongAsync(ShelfDb db)
    {
        var wrong = new List<string>();
        var tallies = await db.DownloadTallies.AsNoTracking().ToListAsync();
        var lengths = await (from d in db.Downloads join a in db.Archives on d.ArchiveId equals a.Id select new { d.Id, a.Length })
            .ToDictionaryAsync(x => x.Id, x => x.Length, StringComparer.Ordinal);
        var events = (await db.DownloadEvents.AsNoTracking().OrderBy(e => e.Id).ToListAsync()).ToLookup(e => e.DownloadId, StringComparer.Ordinal);
        foreach (var tally in tallies)
            if (!lengths.TryGetValue(tally.DownloadId, out var length))
                wrong.Add($"tally {tally.DownloadId} belongs to no download");
            else if (Wrong(tally, length, events[tally.DownloadId]) is { } why)
                wrong.Add(why);
        return wrong;
    }

    private static string? Wrong(DownloadTally tally, long length, IEnumerable<DownloadEvent> events)
    {
        var (covered, finishedAt) = Count(length, events.Where(e => e.Id <= tally.LastEventId));
        return tally.BytesCovered == covered && tally.FinishedAt == finishedAt
            ? null
            : $"tally {tally.DownloadId} says {tally.BytesCovered} bytes, finished {tally.FinishedAt:O}; its events up to {tally.LastEventId} say {covered}, {finishedAt:O} (of {length})";
    }

    private static (long Covered, DateTimeOffset? FinishedAt) Count(long length, IEnumerable<DownloadEvent> events)
    {
        var seen = new List<DownloadEvent>();
        long covered = 0;
        foreach (var one in events)
        {
            seen.Add(one);
            covered = Covered(seen, length);
            if (covered == length)
                return (covered, one.At);
        }
        return (covered, null);
    }

    private static long Covered(List<DownloadEvent> events, long length)
    {
        long covered = 0, reached = 0;
        foreach (var one in events.OrderBy(e => e.From))
        {
            var (from, to) = (Math.Max(one.From, reached), Math.Min(one.To, length));
            covered += Math.Max(0, to - from);
            reached = Math.Max(reached, to);
        }
        return covered;
    }
}
