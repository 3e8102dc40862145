using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Every upload token ever made, newest first; never the tokens themselves.</summary>
public sealed class ReadUploadTokens(ShelfDb db)
{
    public async Task<IReadOnlyList<UploadToken>> RunAsync(CancellationToken cancellationToken) =>
        await db.UploadTokens.AsNoTracking().OrderByDescending(t => t.Id).ToListAsync(cancellationToken);
}
