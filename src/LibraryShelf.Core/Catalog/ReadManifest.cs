using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>A line of a release's folder: size in bytes, and whether the shelf has the bytes yet.</summary>
public sealed record ManifestLine(string Path, long Size, bool IsHere);

/// <summary>Reads a page of a release's folder, what is still on its way first, then by path.</summary>
public sealed class ReadManifest(ShelfDb db)
{
    public const int PageSize = 500;

    /// <param name="releaseId">The release.</param>
    /// <param name="page">From 0; a page past the end is empty.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<IReadOnlyList<ManifestLine>> RunAsync(long releaseId, int page, CancellationToken cancellationToken) =>
        await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId)
            .Select(f => new { f.Path, f.Size, IsHere = db.Blobs.Any(b => b.Sha256 == f.Sha256) })
            .OrderBy(f => f.IsHere).ThenBy(f => f.Path)
            .Skip(Math.Clamp(page, 0, 10_000) * PageSize).Take(PageSize)
            .Select(f => new ManifestLine(f.Path, f.Size, f.IsHere))
            .ToListAsync(cancellationToken);
}
