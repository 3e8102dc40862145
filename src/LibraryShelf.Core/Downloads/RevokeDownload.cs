using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>Makes a link useless from the next request on. What was handed over stays handed over.</summary>
public sealed class RevokeDownload(ShelfDb db, TimeProvider clock)
{
    /// <returns>False when there is no such download, or it was revoked before.</returns>
    public async Task<bool> RunAsync(string downloadId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Downloads.Where(d => d.Id == downloadId && d.RevokedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken) == 1;
    }
}
