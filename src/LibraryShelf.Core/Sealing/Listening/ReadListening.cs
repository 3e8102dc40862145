using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>What a library's page offers to listen to. <paramref name="Files"/>: the SHA-256 of each file by its name.</summary>
/// <param name="Excerpts">None when nothing of the version can be played.</param>
/// <param name="Files">By name.</param>
/// <param name="PlayableBytes">Of the playable set.</param>
/// <param name="Music">Ready to be heard; null when there is none.</param>
public sealed record BoxListening(IReadOnlyList<Excerpt> Excerpts, IReadOnlyDictionary<string, string> Files, int PlayableBytes, LibraryMusic? Music);

/// <summary>Reads what can be heard of a version on the shelf, and of its library.</summary>
public sealed class ReadListening(ShelfDb db)
{
    /// <returns>Null while there is nothing to listen to.</returns>
    public async Task<BoxListening?> RunAsync(long releaseId, long libraryId, CancellationToken cancellationToken)
    {
        var row = await db.Listenings.AsNoTracking().FirstOrDefaultAsync(l => l.ReleaseId == releaseId, cancellationToken);
        var music = await db.LibraryMusic.AsNoTracking().FirstOrDefaultAsync(m => m.LibraryId == libraryId && m.OpusSha256 != null && m.Trouble == null, cancellationToken);
        var files = row is null ? [] : await db.ListeningFiles.Where(f => f.ReleaseId == releaseId).ToDictionaryAsync(f => f.Name, f => f.Sha256, cancellationToken);
        return files.Count == 0 && music is null ? null : new BoxListening(row?.ReadExcerpts() ?? [], files, row?.PlayableBytes ?? 0, music);
    }
}
