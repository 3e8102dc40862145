using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>A version as far as choosing between versions goes; <paramref name="WasPublished"/> also when it was withdrawn from the shelf since.</summary>
public sealed record NumberedRelease(long Id, long LibraryId, string Number, bool IsSealed, bool WasPublished);

/// <summary>
/// Which version another one is held against: of those below it (SemVer 2.0.0 §11) the highest that people's songs may rest on (docs/versions.md).
/// A pre-release promises nothing, so what changed in it counts until a number without one is on the shelf; a version that was never on the
/// shelf is held against only where nothing below ever was, because it may be put there yet.
/// </summary>
internal static class VersionBefore
{
    /// <summary>Null when <paramref name="release"/> is the first; <paramref name="siblings"/> may hold it too.</summary>
    public static NumberedRelease? Of(NumberedRelease release, IEnumerable<NumberedRelease> siblings) =>
        Below(release, siblings).OrderBy(s => s.WasPublished).ThenBy(s => !IsPrerelease(s)).ThenBy(s => s.Number, ReleaseNumbers.ByPrecedence).LastOrDefault();

    /// <summary>The next lower one whatever it is, as the version story tells one after the other.</summary>
    public static NumberedRelease? Next(NumberedRelease release, IEnumerable<NumberedRelease> siblings) =>
        Below(release, siblings).MaxBy(s => s.Number, ReleaseNumbers.ByPrecedence);

    /// <summary>The library's releases; all libraries' when <paramref name="libraryId"/> is null.</summary>
    public static Task<List<NumberedRelease>> LoadAsync(ShelfDb db, long? libraryId, CancellationToken cancellationToken) =>
        db.Releases.Where(r => libraryId == null || r.LibraryId == libraryId)
            .Select(r => new NumberedRelease(r.Id, r.LibraryId, r.Number, r.SealedAt != null, r.PublishedAt != null)).ToListAsync(cancellationToken);

    private static IEnumerable<NumberedRelease> Below(NumberedRelease release, IEnumerable<NumberedRelease> siblings) =>
        siblings.Where(s => s.IsSealed && s.Id != release.Id && ReleaseNumbers.ByPrecedence.Compare(s.Number, release.Number) < 0);

    private static bool IsPrerelease(NumberedRelease release) => ReleaseNumber.TryParse(release.Number) is { IsPrerelease: true };
}
