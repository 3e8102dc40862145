using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Reads the files, by hash, of all versions of a box that are or were on the shelf; null when there is none. What was never on it (drafts,
/// sealed, scheduled) is not told, what is early only to those it was given to. Anyone may read the rest, of a box for members too: a hash
/// opens nothing and gives back no sound.
/// </summary>
public sealed class ReadVersions(ShelfDb db, IBlobStore blobs, VersionTables tables, TimeProvider clock)
{
    private sealed record Line(Release Release, Archive Archive, bool IsReadable);

    /// <param name="slug">As in the address.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops between two recipes.</param>
    public async Task<VersionDocument?> RunAsync(string slug, long? personId, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.AsNoTracking().Include(l => l.Audiences).SingleOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return null;
        var person = await PersonFacts.LoadAsync(db, personId, clock.GetUtcNow(), cancellationToken);
        var lines = await LinesAsync(library, person, cancellationToken);
        if (lines.Count == 0)
            return null;
        var fingerprint = Fingerprint(library, lines);
        return tables.Find(fingerprint) ?? tables.Keep(fingerprint, (await TableAsync(library, lines, cancellationToken)).ToJson());
    }

    /// <summary>Newest number first.</summary>
    private async Task<List<Line>> LinesAsync(Library library, PersonFacts person, CancellationToken cancellationToken)
    {
        var (isOut, early) = (library.AudienceAt(clock.GetUtcNow()) is not null, person.EarlyFor);
        // One given early and then withdrawn was never published: only those know it who had it.
        var releases = await db.Releases.AsNoTracking()
            .Where(r => r.LibraryId == library.Id && ((isOut && r.PublishedAt != null && r.State == ReleaseState.Published)
                || (r.State == ReleaseState.Withdrawn && ((isOut && r.PublishedAt != null) || early.Contains(r.Id)))
                || (r.State == ReleaseState.Early && early.Contains(r.Id))))
            .ToListAsync(cancellationToken);
        var ids = releases.ConvertAll(r => r.Id);
        var archives = (await db.Archives.AsNoTracking().Where(a => ids.Contains(a.ReleaseId) && a.Kind == ArchiveKind.Full).ToListAsync(cancellationToken))
            .GroupBy(a => a.ReleaseId).ToDictionary(g => g.Key, g => g.MaxBy(a => a.Id)!);
        return [.. releases.Where(r => archives.ContainsKey(r.Id)).OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)
            .Select(r => new Line(r, archives[r.Id], blobs.Has(archives[r.Id].RecipeSha256)))];
    }

    private static string Fingerprint(Library library, List<Line> lines)
    {
        var told = new StringBuilder(VersionTable.SchemaName).Append('\n').Append(library.Slug).Append('\n').Append(library.Title);
        foreach (var (release, archive, isReadable) in lines)
            told.Append(CultureInfo.InvariantCulture,
                $"\n{release.Number} {release.PublishedAt?.ToUnixTimeMilliseconds()} {release.WithdrawnAt?.ToUnixTimeMilliseconds()} {archive.RecipeSha256} {isReadable} {release.WithdrawnBecause}");
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(told.ToString())))[..32];
    }

    private async Task<VersionTable> TableAsync(Library library, List<Line> lines, CancellationToken cancellationToken)
    {
        var files = new List<VersionFile>();
        var places = new Dictionary<(string Path, string Sha256), int>();
        var versions = new List<TableVersion>();
        // From the oldest up, so that what a later version keeps stays one run of the list.
        foreach (var line in Enumerable.Reverse(lines))
        {
            var recipe = line.IsReadable ? await RecipeAsync(line.Archive.RecipeSha256, cancellationToken) : null;
            var isWithdrawn = line.Release.State == ReleaseState.Withdrawn;
            versions.Add(new TableVersion(line.Release.Number, recipe?.TopFolder, line.Release.PublishedAt, isWithdrawn ? line.Release.WithdrawnAt : null,
                isWithdrawn ? line.Release.WithdrawnBecause : null, line.Archive.Length, recipe is null ? null : Runs(recipe, files, places)));
        }
        versions.Reverse();
        return new VersionTable(VersionTable.SchemaName, library.Slug, library.Title, files, versions);
    }

    private async Task<Recipe> RecipeAsync(string sha256, CancellationToken cancellationToken)
    {
        await using var stream = blobs.Open(sha256);
        using var memory = new MemoryStream();
        await stream.CopyToAsync(memory, cancellationToken);
        return Recipe.Parse(memory.ToArray());
    }

    private static List<int> Runs(Recipe recipe, List<VersionFile> files, Dictionary<(string, string), int> places)
    {
        var own = new List<int>(recipe.Entries.Count);
        foreach (var entry in recipe.Entries)
        {
            var sha256 = entry.Sha256 ?? Convert.ToHexStringLower(SHA256.HashData(entry.Inline.Span));
            if (places.TryAdd((entry.Path, sha256), files.Count))
                files.Add(new VersionFile(entry.Path, entry.Size, sha256));
            own.Add(places[(entry.Path, sha256)]);
        }
        own.Sort();
        var runs = new List<int>();
        foreach (var place in own)
        {
            if (runs.Count > 0 && runs[^2] + runs[^1] == place) runs[^1]++;
            else runs.AddRange([place, 1]);
        }
        return runs;
    }
}
