using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;

namespace LibraryShelf.Core.Sealing;

/// <summary>Who may see a sealed version: everyone once it was on the shelf, also withdrawn; before that, those it is open to.</summary>
internal static class VersionSight
{
    /// <param name="db">Asked for the person.</param>
    /// <param name="release">With its library and that one's audiences.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="now">When.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    public static async Task<bool> MaySeeAsync(ShelfDb db, Release release, long? personId, DateTimeOffset now, CancellationToken cancellationToken) =>
        release.PublishedAt is not null
        || MayDownload.IsYes((await PersonFacts.LoadAsync(db, personId, now, cancellationToken)).MayHave(release, release.Library, now));
}
