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
    /// <returns>Null: bytes may go out. Else what came between since the link was opened, and no bytes may.</returns>
    public async Task<LinkTrouble?> RunAsync(string downloadId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var started = await db.Downloads
            .Where(d => d.Id == downloadId && d.StartedAt == null && d.RevokedAt == null && d.StartBy > now)
            .Where(d => d.Why == MayDownloadWhy.Maker || !db.Releases.Any(r => r.Id == d.ReleaseId && r.State == ReleaseState.Withdrawn))
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.StartedAt, now), cancellationToken);
        if (started == 1) return null;
        var found = await db.Downloads.Where(d => d.Id == downloadId)
            .Select(d => new
            {
                d.StartedAt, d.RevokedAt,
                IsWithdrawn = d.Why != MayDownloadWhy.Maker && db.Releases.Any(r => r.Id == d.ReleaseId && r.State == ReleaseState.Withdrawn),
            }).FirstOrDefaultAsync(cancellationToken);
        if (found is null) return LinkTrouble.Unknown;
        if (found.RevokedAt is not null) return LinkTrouble.Revoked;
        if (found is { StartedAt: null, IsWithdrawn: true }) return LinkTrouble.Withdrawn;
        return found.StartedAt is null ? LinkTrouble.StartRunOut : null;
    }
}
