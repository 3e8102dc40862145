using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Marks that bytes are about to go out for the first time. One conditional statement: of many requests at once, one writes
/// the instant, and a revocation or withdrawal that came between is seen.
/// </summary>
public sealed class StartDownload(ShelfDb db, TimeProvider clock)
{
    /// <param name="download">As the link was opened.</param>
    /// <param name="cancellationToken">Stops before anything is written.</param>
    /// <param name="hasWaited">It had a place in the queue, which kept the time to start from running out.</param>
    /// <returns>Null: bytes may go out. Else what came between since the link was opened, and no bytes may.</returns>
    public async Task<LinkTrouble?> RunAsync(Download download, CancellationToken cancellationToken, bool hasWaited = false)
    {
        var (now, downloadId) = (clock.GetUtcNow(), download.Id);
        var rows = db.Downloads
            .Where(d => d.Id == downloadId && d.StartedAt == null && d.RevokedAt == null)
            .Where(d => d.Why == MayDownloadWhy.Maker || !db.Releases.Any(r => r.Id == d.ReleaseId && r.State == ReleaseState.Withdrawn));
        if (!hasWaited)
            rows = rows.Where(d => d.StartBy > now);
        if (download.DropId is { } dropId)
            rows = rows.Where(d => d.Why == MayDownloadWhy.Maker || !MonthVersions.Withdrawn(db, dropId).Any());
        var started = await rows.ExecuteUpdateAsync(s => s.SetProperty(d => d.StartedAt, now), cancellationToken);
        if (started == 1) return null;
        var found = await db.Downloads.Where(d => d.Id == downloadId)
            .Select(d => new
            {
                d.StartedAt, d.RevokedAt,
                IsWithdrawn = d.Why != MayDownloadWhy.Maker && db.Releases.Any(r => r.State == ReleaseState.Withdrawn
                    && (r.Id == d.ReleaseId || db.DropReleases.Any(m => m.DropId == d.DropId && m.ReleaseId == r.Id))),
            }).FirstOrDefaultAsync(cancellationToken);
        if (found is null) return LinkTrouble.Unknown;
        if (found.RevokedAt is not null) return LinkTrouble.Revoked;
        if (found is { StartedAt: null, IsWithdrawn: true }) return LinkTrouble.Withdrawn;
        return found.StartedAt is null ? LinkTrouble.StartRunOut : null;
    }
}
