using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>A file to listen to. <paramref name="IsForAll"/>: everyone may have it.</summary>
public sealed record HeardFile(string Sha256, bool IsForAll);

/// <summary>
/// Finds the blob behind a file by which a version is heard. Listening is open to everyone who may see the version, also where only members may download: what is
/// heard is shortened, thinned and coded at a low rate. What was withdrawn is not played any more.
/// </summary>
public sealed class OpenListening(ShelfDb db, TimeProvider clock)
{
    /// <param name="slug">As in the address.</param>
    /// <param name="number">As the maker wrote it.</param>
    /// <param name="name">Of the file.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Null when there is no such file, or this person may not see the version.</returns>
    public async Task<HeardFile?> RunAsync(string slug, string number, string name, long? personId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Library.Slug == slug && r.Number == number && r.SealedAt != null && r.State != ReleaseState.Withdrawn, cancellationToken);
        if (release is null || !await VersionSight.MaySeeAsync(db, release, personId, clock.GetUtcNow(), cancellationToken))
            return null;
        return await db.ListeningFiles.Where(f => f.ReleaseId == release.Id && f.Name == name).Select(f => f.Sha256).FirstOrDefaultAsync(cancellationToken) is { } sha256
            ? new HeardFile(sha256, release.PublishedAt is not null) : null;
    }
}
