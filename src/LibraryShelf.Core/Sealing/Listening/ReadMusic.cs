using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>A library and its piece of music, if its maker added one. <paramref name="IsOnShelf"/>: it can be heard on the library's page.</summary>
public sealed record MusicAtWork(Library Library, LibraryMusic? Music, bool IsOnShelf)
{
    /// <summary>How far the making of what is heard of it is, in seconds of sound gone through; null: it does not run.</summary>
    public Progress? Far { get; init; }
}

/// <summary>Reads a library's piece of music for its page at the workbench.</summary>
public sealed class ReadMusic(ShelfDb db)
{
    /// <returns>Null when there is no such library.</returns>
    public async Task<MusicAtWork?> RunAsync(string slug, CancellationToken cancellationToken) =>
        await db.Libraries.AsNoTracking().FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken) is not { } library ? null : new MusicAtWork(
            library, await db.LibraryMusic.AsNoTracking().FirstOrDefaultAsync(m => m.LibraryId == library.Id, cancellationToken),
            await db.Releases.AnyAsync(r => r.LibraryId == library.Id && r.State == ReleaseState.Published, cancellationToken))
        {
            Far = await ProgressNotes.ReadAsync(db, ProgressNotes.Music(library.Id), cancellationToken),
        };
}
