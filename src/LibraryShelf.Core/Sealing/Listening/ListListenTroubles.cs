using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>Why versions on the shelf and pieces of music can't be heard, whenever that was found, in words for the maker; none when all is well.</summary>
public sealed class ListListenTroubles(ShelfDb db)
{
    public async Task<IReadOnlyList<string>> RunAsync(CancellationToken cancellationToken)
    {
        var versions = await db.Listenings.Where(l => l.Trouble != null && db.Releases.Any(r => r.Id == l.ReleaseId && r.State == ReleaseState.Published))
            .OrderBy(l => l.ReleaseId).Select(l => l.Trouble!).ToListAsync(cancellationToken);
        var music = await db.LibraryMusic.Where(m => m.Trouble != null).OrderBy(m => m.LibraryId).Select(m => m.Trouble!).ToListAsync(cancellationToken);
        return [.. versions, .. music];
    }
}
