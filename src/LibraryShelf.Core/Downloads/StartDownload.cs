using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Marks that bytes are about to go out for the first time. One conditional statement: of many requests at once, one writes
/// the instant, and a revocation that came between is seen.
/// </summary>
public sealed class StartDownload(ShelfDb db, TimeProvider clock)
{
    /// <returns>False when the download was revoked or its time to start ran out meanwhile: no bytes may go out.</returns>
    public async Task<bool> RunAsync(string downloadId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var started = await db.Downloads
            .Where(d => d.Id == downloadId && d.StartedAt == null && d.RevokedAt == null && d.StartBy > now)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.StartedAt, now), cancellationToken);
        return started == 1
            || await db.Downloads.AnyAsync(d => d.Id == downloadId && d.StartedAt != null && d.RevokedAt == null, cancellationToken);
    }
}
