using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>Why nothing of a version itself can be heard.</summary>
public enum Unplayed
{
    /// <summary>It is made now, or as soon as it is its turn.</summary>
    BeingMade,
    /// <summary>Its maker does not want it made now (<see cref="HoldListening"/>).</summary>
    Held,
    /// <summary>No recording of it can be read, or none has a key.</summary>
    NothingToPlay,
    /// <summary>The shelf could not make it, and tries again a day later.</summary>
    Stopped,
}

/// <summary>What a library's page offers to listen to. <paramref name="Files"/>: the SHA-256 of each file by its name.</summary>
/// <param name="Excerpts">None when nothing of the version can be played.</param>
/// <param name="Files">By name.</param>
/// <param name="PlayableBytes">Of the playable set.</param>
/// <param name="Music">Ready to be heard; null when there is none.</param>
/// <param name="Why">Why there are no files; null when there are.</param>
public sealed record BoxListening(IReadOnlyList<Excerpt> Excerpts, IReadOnlyDictionary<string, string> Files, int PlayableBytes, LibraryMusic? Music, Unplayed? Why);

/// <summary>Reads what can be heard of a version on the shelf, and of its library.</summary>
public sealed class ReadListening(ShelfDb db)
{
    public async Task<BoxListening> RunAsync(long releaseId, long libraryId, CancellationToken cancellationToken)
    {
        var row = await db.Listenings.AsNoTracking().FirstOrDefaultAsync(l => l.ReleaseId == releaseId, cancellationToken);
        var music = await db.LibraryMusic.AsNoTracking().FirstOrDefaultAsync(m => m.LibraryId == libraryId && m.OpusSha256 != null && m.Trouble == null, cancellationToken);
        var files = row is null ? [] : await db.ListeningFiles.Where(f => f.ReleaseId == releaseId).ToDictionaryAsync(f => f.Name, f => f.Sha256, cancellationToken);
        return new BoxListening(row?.ReadExcerpts() ?? [], files, row?.PlayableBytes ?? 0, music, files.Count > 0 ? null : await WhyAsync(row, releaseId, cancellationToken));
    }

    private async Task<Unplayed> WhyAsync(ReleaseListening? row, long releaseId, CancellationToken cancellationToken) => row switch
    {
        { Trouble: not null } => Unplayed.Stopped,
        { Generation: ListeningSet.Generation } => Unplayed.NothingToPlay,
        _ => await db.Releases.AnyAsync(r => r.Id == releaseId && r.ListenHeldAt != null, cancellationToken) ? Unplayed.Held : Unplayed.BeingMade,
    };
}
