using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Reads one library for its page at the workbench; null when there is none of that slug.</summary>
public sealed class ReadLibrary(ShelfDb db, TimeProvider clock)
{
    public async Task<LibraryAtWork?> RunAsync(string slug, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.AsNoTracking().AsSplitQuery().Include(l => l.Releases).Include(l => l.Audiences)
            .FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        return library is null ? null : LibraryAtWork.Of(library, clock.GetUtcNow());
    }
}
