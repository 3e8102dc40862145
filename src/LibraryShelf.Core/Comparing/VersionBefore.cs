using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>A version as far as choosing between versions goes.</summary>
public sealed record NumberedRelease(long Id, long LibraryId, string Number, bool IsSealed);

/// <summary>Which version another one is held against: the sealed one with the highest number below its own (SemVer 2.0.0 §11).</summary>
internal static class VersionBefore
{
    /// <summary>Null when <paramref name="release"/> is the first; <paramref name="siblings"/> may hold it too.</summary>
    public static NumberedRelease? Of(NumberedRelease release, IEnumerable<NumberedRelease> siblings) =>
        siblings.Where(s => s.IsSealed && s.Id != release.Id && ReleaseNumbers.ByPrecedence.Compare(s.Number, release.Number) < 0)
            .MaxBy(s => s.Number, ReleaseNumbers.ByPrecedence);

    /// <summary>The library's releases; all libraries' when <paramref name="libraryId"/> is null.</summary>
    public static Task<List<NumberedRelease>> LoadAsync(ShelfDb db, long? libraryId, CancellationToken cancellationToken) =>
        db.Releases.Where(r => libraryId == null || r.LibraryId == libraryId)
            .Select(r => new NumberedRelease(r.Id, r.LibraryId, r.Number, r.SealedAt != null)).ToListAsync(cancellationToken);
}
