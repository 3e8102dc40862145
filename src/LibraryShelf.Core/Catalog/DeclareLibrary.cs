using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>The maker says that a library's recordings are hers to give (<see cref="Declaration.Words"/>), before anything of it goes out.</summary>
public sealed class DeclareLibrary(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: there is no such library, or it kept changing at this very moment; nothing was changed.</returns>
    public Task<bool> RunAsync(string? slug, CancellationToken cancellationToken) => FreshEyes.LookAsync(db, () => DeclareAsync(slug, cancellationToken), () => false);

    private async Task<bool> DeclareAsync(string? slug, CancellationToken cancellationToken)
    {
        if (await db.Libraries.SingleOrDefaultAsync(l => l.Slug == slug, cancellationToken) is not { } library)
            return false;
        library.Declare(clock.GetUtcNow());
        await db.SaveChangesAsync(cancellationToken);
        return true;
    }
}
