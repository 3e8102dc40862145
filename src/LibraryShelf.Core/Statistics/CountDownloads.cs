using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Adds up new download events into tallies. Running it again, or from nothing, gives the same rows: a tally depends on the
/// download's events alone, and a finish is dated by the event that completed it.
/// </summary>
public sealed class CountDownloads(ShelfDb db)
{
    /// <summary>Events looked at in one transaction, so that SQLite's writer is never held for long.</summary>
    internal int PageSize { get; init; } = 2_000;

    /// <summary>Downloads asked about in one question; SQLite takes 32,766 parameters, other databases fewer.</summary>
    private const int AskedAtOnce = 500;

    /// <returns>How many events were new.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var counted = 0;
        // Both databases let one writer at a time through (Data.Postgres/OneWriter), so events become visible in the order of their
        // ids, gaps or none, and pages are counted in order: the highest id in any tally is the last event counted.
        var last = await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;
        while (true)
        {
            var page = await db.DownloadEvents.AsNoTracking().Where(e => e.Id > last).OrderBy(e => e.Id)
                .Select(e => new { e.Id, e.DownloadId }).Take(PageSize).ToListAsync(cancellationToken);
            if (page.Count == 0) return counted;
            last = page[^1].Id;
            await CountPageAsync(page.GroupBy(e => e.DownloadId, e => e.Id, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.Max(), StringComparer.Ordinal), cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            db.ChangeTracker.Clear();
            counted += page.Count;
        }
    }

    /// <param name="upTo">The downloads with new events, and the last of each.</param>
    /// <param name="cancellationToken">Stops between two questions.</param>
    private async Task CountPageAsync(Dictionary<string, long> upTo, CancellationToken cancellationToken)
    {
        foreach (var ids in upTo.Keys.Chunk(AskedAtOnce))
        {
            var tallies = await db.DownloadTallies.Where(t => ids.Contains(t.DownloadId))
                .ToDictionaryAsync(t => t.DownloadId, StringComparer.Ordinal, cancellationToken);
            foreach (var id in ids)
            {
                if (!tallies.TryGetValue(id, out var tally))
                    db.DownloadTallies.Add(tallies[id] = tally = new DownloadTally { DownloadId = id });
                tally.LastEventId = Math.Max(tally.LastEventId, upTo[id]);
            }
            var open = tallies.Values.Where(t => t.FinishedAt is null).ToDictionary(t => t.DownloadId, StringComparer.Ordinal);
            await CoverAsync(open, cancellationToken);
        }
    }

    /// <summary>Lays every event of these downloads side by side, in order, until the archive is covered.</summary>
    private async Task CoverAsync(Dictionary<string, DownloadTally> open, CancellationToken cancellationToken)
    {
        var ids = open.Keys.ToArray();
        var lengths = await (from d in db.Downloads
                             join a in db.Archives on d.ArchiveId equals a.Id
                             where ids.Contains(d.Id)
                             select new { d.Id, a.Length }).ToDictionaryAsync(d => d.Id, d => new Coverage(d.Length), StringComparer.Ordinal, cancellationToken);
        var events = db.DownloadEvents.AsNoTracking().Where(e => ids.Contains(e.DownloadId)).OrderBy(e => e.Id);
        await foreach (var one in events.AsAsyncEnumerable().WithCancellation(cancellationToken))
        {
            var tally = open[one.DownloadId];
            if (one.Id > tally.LastEventId || tally.FinishedAt is not null || !lengths.TryGetValue(one.DownloadId, out var coverage))
                continue;
            coverage.Add(one.From, one.To);
            tally.BytesCovered = coverage.Bytes;
            if (coverage.IsWhole) tally.FinishedAt = one.At;
        }
    }
}
