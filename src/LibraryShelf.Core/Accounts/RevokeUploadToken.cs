using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Ends an upload token; requests already let in finish.</summary>
public sealed class RevokeUploadToken(ShelfDb db, TimeProvider clock)
{
    /// <returns>False when there is no such token or it was revoked before.</returns>
    public async Task<bool> RunAsync(long tokenId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.UploadTokens.Where(t => t.Id == tokenId && t.RevokedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(t => t.RevokedAt, now), cancellationToken) == 1;
    }
}
