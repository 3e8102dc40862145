using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>A box's versions that are not on the shelf and yet are told of: to those who were given them early, and those withdrawn.</summary>
internal static class BesideTheShelf
{
    /// <summary>What this person was given before it is published, highest number first.</summary>
    public static async Task<IReadOnlyList<BoxVersion>> EarlyAsync(
        ShelfDb db, Library library, PersonFacts person, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (person.EarlyFor.Count == 0)
            return [];
        var rows = await db.Releases.AsNoTracking().Include(r => r.Players)
            .Where(r => r.LibraryId == library.Id && r.State == ReleaseState.Early && person.EarlyFor.Contains(r.Id)).ToListAsync(cancellationToken);
        var ids = rows.ConvertAll(r => r.Id);
        var sizes = await db.Archives.Where(a => a.Kind == ArchiveKind.Full && ids.Contains(a.ReleaseId))
            .GroupBy(a => a.ReleaseId).Select(g => new { g.Key, Length = g.Max(a => a.Length) })
            .ToDictionaryAsync(a => a.Key, a => a.Length, cancellationToken);
        return
        [
            .. rows.Where(r => sizes.ContainsKey(r.Id)).OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)
                .Select(r => new BoxVersion(new ShelfRelease(r, sizes[r.Id]), person.MayHave(r, library, now), Changes: null))
                .Where(v => v.MayTake),
        ];
    }

    /// <summary>What was on the shelf once, or was this person's early, and was taken back; highest number first.</summary>
    public static async Task<IReadOnlyList<Release>> WithdrawnAsync(
        ShelfDb db, Library library, PersonFacts person, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.AsNoTracking()
            .Where(r => r.LibraryId == library.Id && r.State == ReleaseState.Withdrawn).ToListAsync(cancellationToken);
        return
        [
            .. rows.Where(r => r.PublishedAt is not null || person.EarlyFor.Contains(r.Id))
                .OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence),
        ];
    }
}
