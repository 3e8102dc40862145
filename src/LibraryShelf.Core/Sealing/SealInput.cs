using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Gathers what a release's full archive is made from. Only stored values go in (files by hash, the dates on which versions
/// were sealed), so the same rows give the same bytes on any day.
/// </summary>
internal static class SealInput
{
    /// <summary>Null when a file of the release is not in the store. The release has its library and players loaded.</summary>
    public static async Task<FullArchiveInput?> GatherAsync(
        ShelfDb db, Release release, DateTimeOffset sealedAt, CancellationToken cancellationToken)
    {
        var files = await db.ReleaseFiles.AsNoTracking().Where(f => f.ReleaseId == release.Id)
            .GroupJoin(db.Blobs, f => f.Sha256, b => b.Sha256, (File, blobs) => new { File, blobs })
            .SelectMany(x => x.blobs.DefaultIfEmpty(), (x, blob) => new { x.File.Path, x.File.Size, x.File.Sha256, Blob = blob })
            .ToListAsync(cancellationToken);
        if (files.Exists(f => f.Blob is null || f.Blob.Size != f.Size))
            return null;
        return new FullArchiveInput
        {
            Title = ArchiveTitle(release.Library),
            Number = release.Number,
            Files = files.ConvertAll(f => RecipeEntry.FromBlob(f.Path, f.Size, f.Blob!.Crc32, f.Sha256)),
            Changes = await ChangesAsync(db, release, sealedAt, cancellationToken),
            LicenceSpdx = release.LicenceSpdx,
            LicenceText = release.LicenceText,
            Credits = release.Credits,
            Players = [.. release.Players.OrderBy(p => p.Order).Select(p => new PlayerGuide(p.Name, p.LowestVersion, p.HowToInstall))],
        };
    }

    /// <summary>The title now, or, when a change of title would change the folder that songs remember, the folder's own name.</summary>
    public static string ArchiveTitle(Library library) =>
        library.FolderName is { } folder && FolderName.FromTitle(library.Title) != folder ? folder : library.Title;

    /// <summary>This release first, then every sealed one below it, highest number first; each dated by its sealing, in UTC.</summary>
    private static async Task<IReadOnlyList<ReleaseChange>> ChangesAsync(
        ShelfDb db, Release release, DateTimeOffset sealedAt, CancellationToken cancellationToken)
    {
        var others = await db.Releases.AsNoTracking()
            .Where(r => r.LibraryId == release.LibraryId && r.Id != release.Id && r.SealedAt != null)
            .Select(r => new { r.Number, r.SealedAt, r.Notes }).ToListAsync(cancellationToken);
        var earlier = others.Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) < 0)
            .OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)
            .Select(r => new ReleaseChange(r.Number, Day(r.SealedAt!.Value), r.Notes));
        return [new ReleaseChange(release.Number, Day(sealedAt), release.Notes), .. earlier];
    }

    private static DateOnly Day(DateTimeOffset instant) => DateOnly.FromDateTime(instant.UtcDateTime);
}
