using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>
/// Which versions' mends a version holds: its own, and those of lower numbers sealed before it, for the maker went on from them. What a
/// withdrawn version mended counts no more.
/// </summary>
internal static class MendsHeld
{
    /// <summary>The versions whose mends this one holds, itself among them.</summary>
    public static async Task<List<long>> ByAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var before = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.Id != release.Id && r.State != ReleaseState.Withdrawn && r.SealedAt <= release.SealedAt)
            .Select(r => new { r.Id, r.Number }).ToListAsync(cancellationToken);
        return [release.Id, .. before.Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) < 0).Select(r => r.Id)];
    }

    /// <summary>The highest version on the shelf that holds what this one mended; null when there is none.</summary>
    public static async Task<Release?> StillInAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var after = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.Id != release.Id && r.State == ReleaseState.Published && r.SealedAt >= release.SealedAt)
            .ToListAsync(cancellationToken);
        return after.Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) > 0).MaxBy(r => r.Number, ReleaseNumbers.ByPrecedence);
    }
}
