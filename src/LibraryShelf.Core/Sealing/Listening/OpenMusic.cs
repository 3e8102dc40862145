using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>Finds the blob behind a library's piece of music; everyone may have it while a version of the library is on the shelf.</summary>
public sealed class OpenMusic(ShelfDb db)
{
    /// <param name="slug">As in the address.</param>
    /// <param name="isWav">Else Ogg Opus.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Its SHA-256; null when there is none to be heard.</returns>
    public Task<string?> RunAsync(string slug, bool isWav, CancellationToken cancellationToken) =>
        db.LibraryMusic.Where(m => m.Trouble == null && db.Libraries.Any(l => l.Id == m.LibraryId && l.Slug == slug
                && db.Releases.Any(r => r.LibraryId == l.Id && r.State == ReleaseState.Published)))
            .Select(m => isWav ? m.WavSha256 : m.OpusSha256).FirstOrDefaultAsync(cancellationToken);
}
