using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Keyprints;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// A sealed version's keyprint. <paramref name="IsForAll"/>: everyone may see it. <paramref name="IsTied"/>: the library is for members now; false too while it is for
/// nobody yet.
/// </summary>
public sealed record VersionKeyprint(Keyprint Print, string Title, Paint Paint, int Keys, int Recordings, bool IsTied, bool IsForAll)
{
    /// <summary>Something of it can be drawn.</summary>
    public bool HasPicture => Print.Reeds.Count > 0;
}

/// <summary>
/// Reads the keyprint of a sealed version, once; then it is known. One that has no row yet (<see cref="SealedKeyprint"/>) is made for this look. Who may see the version
/// may see it.
/// </summary>
public sealed class ReadKeyprint(ShelfDb db, KnownKeyprints known, TimeProvider clock)
{
    /// <param name="slug">As in the address.</param>
    /// <param name="number">As the maker wrote it.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Null when there is no such version, or this person may not see it.</returns>
    public async Task<VersionKeyprint?> RunAsync(string slug, string number, long? personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Library.Slug == slug && r.Number == number && r.SealedAt != null, cancellationToken);
        if (release is null || !await VersionSight.MaySeeAsync(db, release, personId, now, cancellationToken))
            return null;
        var print = known.Of(release.Id) ?? await FindAsync(release.Id, cancellationToken);
        return new VersionKeyprint(
            print, release.Library.Title, release.Library.Paint, release.Keys, release.Recordings, release.Library.AudienceAt(now) == Audience.Members, release.PublishedAt is not null);
    }

    private async Task<Keyprint> FindAsync(long releaseId, CancellationToken cancellationToken)
    {
        var row = await db.SealedKeyprints.AsNoTracking().SingleOrDefaultAsync(k => k.ReleaseId == releaseId, cancellationToken);
        var print = row?.Read() ?? await SealedKeyprint.MakeAsync(db, releaseId, null, cancellationToken);
        // What is not drawn now may be, once it is measured.
        if (print.Reeds.Count > 0)
            known.Keep(releaseId, print);
        return print;
    }
}
