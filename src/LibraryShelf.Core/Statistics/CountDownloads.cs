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
            foreach (var download in page.GroupBy(e => e.DownloadId, e => e.Id, StringComparer.Ordinal))
                await CountOneAsync(download.Key, download.Max(), cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            db.ChangeTracker.Clear();
            counted += page.Count;
        }
    }

    private async Task CountOneAsync(string downloadId, long upTo, CancellationToken cancellationToken)
    {
        var tally = await db.DownloadTallies.FindAsync([downloadId], cancellationToken);
        if (tally is null) db.DownloadTallies.Add(tally = new DownloadTally { DownloadId = downloadId });
        tally.LastEventId = Math.Max(tally.LastEventId, upTo);
        if (tally.FinishedAt is not null) return;

        var length = await (from d in db.Downloads
                            join a in db.Archives on d.ArchiveId equals a.Id
                            where d.Id == downloadId
                            select (long?)a.Length).FirstOrDefaultAsync(cancellationToken);
        if (length is null) return;
        var coverage = new Coverage(length.Value);
        var events = db.DownloadEvents.AsNoTracking().Where(e => e.DownloadId == downloadId && e.Id <= upTo).OrderBy(e => e.Id);
        await foreach (var one in events.AsAsyncEnumerable().WithCancellation(cancellationToken))
        {
            coverage.Add(one.From, one.To);
            if (coverage.IsWhole) { tally.FinishedAt = one.At; break; }
        }
        tally.BytesCovered = coverage.Bytes;
    }
}
