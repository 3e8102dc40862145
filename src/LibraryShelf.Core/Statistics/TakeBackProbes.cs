using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Up to the second rules a probe's answer was a request in its download's tally. Taken back once, before anything is counted by the third: of downloads whose
/// events are still kept. Days of the older rules are marked by it and so are rolled up anew.
/// </summary>
internal sealed class TakeBackProbes(ShelfDb db)
{
    private const string Done = "probes taken back";

    public async Task RunAsync(CancellationToken cancellationToken)
    {
        if (!await IsDueAsync(cancellationToken))
            return;
        // Read before a writer is held: every event is looked at. None is added to a tally meanwhile, because a count begins with this.
        var probes = await (from e in db.DownloadEvents
                            where e.BeginsAnswer && e.To - e.From <= DownloadTally.MostProbeBytes
                            join t in db.DownloadTallies on e.DownloadId equals t.DownloadId
                            where e.Id <= t.LastEventId
                            group e by e.DownloadId into g
                            select new { Id = g.Key, Times = g.Count() }).ToListAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (!await IsDueAsync(cancellationToken))
            return;
        foreach (var same in probes.GroupBy(p => p.Times))
            foreach (var ids in same.Select(p => p.Id).Chunk(2_000))
                await db.DownloadTallies.Where(t => EF.Parameter(ids).Contains(t.DownloadId))
                    .ExecuteUpdateAsync(s => s.SetProperty(t => t.Requests, t => t.Requests - same.Key), cancellationToken);
        await Older.ExecuteUpdateAsync(s => s.SetProperty(r => r.By, Done), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
    }

    private IQueryable<DayRoll> Older => db.DayRolls.Where(r => r.By.StartsWith("1 ") || r.By.StartsWith("2 "));

    private Task<bool> IsDueAsync(CancellationToken cancellationToken) => Older.AnyAsync(cancellationToken);
}
