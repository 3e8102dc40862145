using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Marks that bytes are about to go out for the first time. One conditional statement: of many requests at once, one writes
/// the instant, and a revocation that came between is seen.
/// </summary>
public sealed class StartDownload(ShelfDb db, TimeProvider clock)
{
    /// <returns>Null: bytes may go out. Else what came between since the link was opened, and no bytes may.</returns>
    public async Task<LinkTrouble?> RunAsync(string downloadId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var started = await db.Downloads
            .Where(d => d.Id == downloadId && d.StartedAt == null && d.RevokedAt == null && d.StartBy > now)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.StartedAt, now), cancellationToken);
        if (started == 1) return null;
        var found = await db.Downloads.Where(d => d.Id == downloadId)
            .Select(d => new { d.StartedAt, d.RevokedAt }).FirstOrDefaultAsync(cancellationToken);
        if (found is null) return LinkTrouble.Unknown;
        if (found.RevokedAt is not null) return LinkTrouble.Revoked;
        return found.StartedAt is null ? LinkTrouble.StartRunOut : null;
    }
}
