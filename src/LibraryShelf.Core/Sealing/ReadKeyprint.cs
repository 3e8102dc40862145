using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Keyprints;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// A sealed version's keyprint. <paramref name="IsForAll"/>: everyone may see it. <paramref name="IsTied"/>: the library is for members now; false too while it is for
/// nobody yet.
/// </summary>
public sealed record VersionKeyprint(Keyprint Print, Paint Paint, int Keys, int Recordings, bool IsTied, bool IsForAll)
{
    /// <summary>Something of it can be drawn.</summary>
    public bool HasPicture => Print.Reeds.Count > 0;
}

/// <summary>
/// Reads the keyprint of a sealed version from its check sheet's places and what was measured of its recordings, once; then it is known. Who may see the version may
/// see it.
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
        var print = known.Of(release.Id) ?? await MakeAsync(release.Id, cancellationToken);
        return new VersionKeyprint(
            print, release.Library.Paint, release.Keys, release.Recordings, release.Library.AudienceAt(now) == Audience.Members, release.PublishedAt is not null);
    }

    private async Task<Keyprint> MakeAsync(long releaseId, CancellationToken cancellationToken)
    {
        var sheet = await db.ReleaseSheets.AsNoTracking().SingleOrDefaultAsync(s => s.ReleaseId == releaseId, cancellationToken);
        var places = sheet?.ReadPlaces().ToDictionary(p => p.Path, StringComparer.Ordinal) ?? [];
        if (places.Count == 0)
            return KeyprintReading.Of([]);
        var measured = await (from file in db.ReleaseFiles
                              join row in db.Measurements on file.Sha256 equals row.Sha256
                              where file.ReleaseId == releaseId
                              select new { file.Path, row.Facts }).ToListAsync(cancellationToken);
        var print = KeyprintReading.Of(measured.Where(m => places.ContainsKey(m.Path))
            .Select(m => (places[m.Path], JsonSerializer.Deserialize<RecordingFacts>(m.Facts)!)));
        // What is not drawn now may be, once it is measured.
        if (print.Reeds.Count > 0)
            known.Keep(releaseId, print);
        return print;
    }
}
