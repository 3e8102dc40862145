using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>What has to be made so that it can be heard: sets of versions, and pieces of music by their libraries.</summary>
public sealed record Unheard(IReadOnlyList<long> Releases, IReadOnlyList<long> Libraries)
{
    public bool IsAny => Releases.Count + Libraries.Count > 0;
}

/// <summary>
/// Looks for versions that nobody can listen to yet: of each library the highest on the shelf that can be taken, which is what its page plays. No other has a set: a version in which a
/// few megabytes changed must not take some more of the disk. Not what its maker does not want made now (<see cref="HoldListening"/>). And for music that waits.
/// </summary>
public sealed class FindUnheard(ShelfDb db, TimeProvider clock)
{
    /// <summary>What could not be made is tried again after so long.</summary>
    private static readonly TimeSpan AgainAfter = TimeSpan.FromDays(1);

    public async Task<Unheard> RunAsync(CancellationToken cancellationToken)
    {
        var published = await db.Releases
            .Where(r => r.State == ReleaseState.Published && db.Archives.Any(a => a.ReleaseId == r.Id && a.Kind == ArchiveKind.Full))
            .Select(r => new { r.Id, r.LibraryId, r.Number, r.PublishedAt, r.ListenHeldAt }).ToListAsync(cancellationToken);
        var latest = published.GroupBy(r => r.LibraryId)
            .Select(g => g.OrderByDescending(r => ReleaseNumber.TryParse(r.Number), PublishedReleases.ByPrecedence).ThenByDescending(r => r.PublishedAt).First());
        var done = await Done(db, clock.GetUtcNow()).Select(l => l.ReleaseId).ToHashSetAsync(cancellationToken);
        var music = await db.LibraryMusic.Where(m => m.Generation < ListeningSet.Generation && m.Trouble == null).Select(m => m.LibraryId).ToListAsync(cancellationToken);
        return new Unheard([.. latest.Where(r => r.ListenHeldAt == null).Select(r => r.Id).Where(id => !done.Contains(id)).Order()], music);
    }

    internal static Task<bool> IsDoneAsync(ShelfDb db, long releaseId, DateTimeOffset now, CancellationToken cancellationToken) =>
        Done(db, now).AnyAsync(l => l.ReleaseId == releaseId, cancellationToken);

    private static IQueryable<ReleaseListening> Done(ShelfDb db, DateTimeOffset now)
    {
        var before = now - AgainAfter;
        return db.Listenings.Where(l => l.Trouble == null ? l.Generation == ListeningSet.Generation : l.MadeAt > before);
    }
}
