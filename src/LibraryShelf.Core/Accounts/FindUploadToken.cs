using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Looks up an upload token that came with a request and notes when it was last used.</summary>
public sealed class FindUploadToken(ShelfDb db, TimeProvider clock)
{
    /// <summary>One sending makes thousands of requests; the note need not be truer than this.</summary>
    private static readonly TimeSpan NoteEvery = TimeSpan.FromMinutes(1);

    /// <returns>The token's row id and what it opens; null when it is unknown or revoked.</returns>
    public async Task<(long Id, TokenUse Use)?> RunAsync(string token, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var found = await db.UploadTokens.AsNoTracking()
            .FirstOrDefaultAsync(t => t.TokenHash == hash && t.RevokedAt == null, cancellationToken);
        if (found is null)
            return null;
        var now = clock.GetUtcNow();
        if (found.LastUsedAt is null || now - found.LastUsedAt >= NoteEvery)
            await db.UploadTokens.Where(t => t.Id == found.Id)
                .ExecuteUpdateAsync(s => s.SetProperty(t => t.LastUsedAt, now), cancellationToken);
        return (found.Id, found.Use);
    }
}
