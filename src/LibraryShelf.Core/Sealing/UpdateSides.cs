using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>A sealed version as one end of an update.</summary>
internal sealed record UpdateSide(long ReleaseId, long LibraryId, string Number, string RecipeSha256, Library Library)
{
    public bool IsBelow(UpdateSide other) => ReleaseNumbers.ByPrecedence.Compare(Number, other.Number) < 0;
}

/// <summary>Reads what an update is made of.</summary>
internal sealed class UpdateSides(ShelfDb db, IBlobStore blobs)
{
    private readonly Dictionary<string, Recipe> read = new(StringComparer.Ordinal);
    private readonly Dictionary<string, List<string>> earlier = new(StringComparer.Ordinal);

    /// <summary>The sealed ones among <paramref name="releases"/>.</summary>
    public async Task<List<UpdateSide>> FindAsync(IQueryable<Release> releases, CancellationToken cancellationToken)
    {
        var all = await (from r in releases.AsNoTracking()
                         where r.SealedAt != null
                         join a in db.Archives.Where(a => a.Kind == ArchiveKind.Full) on r.Id equals a.ReleaseId
                         orderby a.Id descending
                         select new UpdateSide(r.Id, r.LibraryId, r.Number, a.RecipeSha256, r.Library)).ToListAsync(cancellationToken);
        return [.. all.DistinctBy(s => s.ReleaseId)];
    }

    /// <summary>The update's recipe. RecipeException, in words for people, when there is an obstacle; what the store refuses is thrown.</summary>
    public async Task<Recipe> MakeAsync(UpdateSide old, UpdateSide next, CancellationToken cancellationToken) => UpdateArchive.Build(
        await ReadAsync(old, cancellationToken), await ReadAsync(next, cancellationToken), old.Number, next.Number, await EarlierPathsAsync(old, cancellationToken));

    /// <summary>The store can't give a recipe just now, or what it gives is none.</summary>
    public static bool IsOfTheStore(Exception e) => DiskTrouble.WordsOf(e) is not null || e is IOException or UnauthorizedAccessException or FormatException;

    /// <summary>Of versions that were on the shelf: nobody has another, and the names in it are nobody's to read.</summary>
    private async Task<List<string>> EarlierPathsAsync(UpdateSide old, CancellationToken cancellationToken)
    {
        if (earlier.TryGetValue(old.Number, out var known))
            return known;
        var releases = await db.Releases.Where(r => r.LibraryId == old.LibraryId && r.PublishedAt != null).Select(r => new { r.Id, r.Number }).ToListAsync(cancellationToken);
        var ids = releases.Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, old.Number) < 0).Select(r => r.Id).ToList();
        return earlier[old.Number] = await db.ReleaseFiles.Where(f => ids.Contains(f.ReleaseId)).Select(f => f.Path).Distinct().ToListAsync(cancellationToken);
    }

    private async Task<Recipe> ReadAsync(UpdateSide side, CancellationToken cancellationToken)
    {
        if (read.TryGetValue(side.RecipeSha256, out var known))
            return known;
        await using var stored = blobs.Open(side.RecipeSha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes, cancellationToken);
        return read[side.RecipeSha256] = Recipe.Parse(bytes.ToArray());
    }
}
