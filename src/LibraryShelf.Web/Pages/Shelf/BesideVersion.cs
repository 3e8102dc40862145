using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>A line of the version story without a place on the shelf: given early to who reads it, or withdrawn.</summary>
internal sealed record BesideVersion(Release Release, BoxVersion? Early)
{
    /// <summary>Those whose number is below <paramref name="above"/> and above <paramref name="below"/>, highest first; null: no bound.</summary>
    public static IReadOnlyList<BesideVersion> Between(BoxPage box, string? above, string? below) =>
    [
        .. box.Early.Select(e => new BesideVersion(e.Release.Row, e)).Concat(box.Withdrawn.Select(r => new BesideVersion(r, null)))
            .Where(b => (above is null || Compare(b, above) < 0) && (below is null || Compare(b, below) > 0))
            .OrderByDescending(b => b.Release.Number, ReleaseNumbers.ByPrecedence),
    ];

    private static int Compare(BesideVersion line, string number) => ReleaseNumbers.ByPrecedence.Compare(line.Release.Number, number);
}
