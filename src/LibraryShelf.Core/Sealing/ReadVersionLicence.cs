using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>The licence that lies in a version's archive, word for word. <paramref name="Number"/> as the maker wrote it.</summary>
public sealed record VersionLicence(string Title, string Slug, string Number, DateTimeOffset SealedAt, string FileName, string Text);

/// <summary>
/// Reads the licence that went with a version from the recipe of its sealed archive, so that no later change of words can reach it. Who may
/// see the version may read it: everyone once it was on the shelf, also withdrawn; before that, those it is open to.
/// </summary>
public sealed class ReadVersionLicence(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    /// <returns>Null when there is no such version, or this person may not see it.</returns>
    public async Task<VersionLicence?> RunAsync(string slug, string number, long? personId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Library.Slug == slug && r.Number == number && r.SealedAt != null, cancellationToken);
        if (release is null || !await VersionSight.MaySeeAsync(db, release, personId, clock.GetUtcNow(), cancellationToken))
            return null;
        var recipe = await db.Archives.Where(a => a.ReleaseId == release.Id && a.Kind == ArchiveKind.Full)
            .OrderByDescending(a => a.Id).Select(a => a.RecipeSha256).FirstOrDefaultAsync(cancellationToken);
        if (recipe is null || !blobs.Has(recipe) || FindLicence(await ReadAsync(recipe, cancellationToken)) is not { } licence)
            return null;
        return new VersionLicence(release.Library.Title, slug, release.Number, release.SealedAt!.Value, licence.Path, System.Text.Encoding.UTF8.GetString(licence.Inline.Span));
    }

    /// <summary>The one the shelf wrote: it travels inside the recipe, while a file of the maker's by that name is a blob.</summary>
    private static RecipeEntry? FindLicence(Recipe recipe) =>
        recipe.Entries.FirstOrDefault(e => e.Sha256 is null && e.Path.StartsWith("LICENCE.", StringComparison.Ordinal));

    private async Task<Recipe> ReadAsync(string sha256, CancellationToken cancellationToken)
    {
        await using var stream = blobs.Open(sha256);
        using var memory = new MemoryStream();
        await stream.CopyToAsync(memory, cancellationToken);
        return Recipe.Parse(memory.ToArray());
    }
}
