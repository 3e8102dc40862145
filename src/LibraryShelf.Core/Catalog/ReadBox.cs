using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// A version of a box, whether this person may take it, and why. <paramref name="Changes"/> since the version below it; null for the lowest,
/// and until they were compared.
/// </summary>
public sealed record BoxVersion(ShelfRelease Release, MayDownloadWhy Why, ChangeSummary? Changes)
{
    public bool MayTake => MayDownload.IsYes(Why);
}

/// <summary>
/// What is in the latest archive. <paramref name="Seal"/> is the SHA-256 of its recipe, <paramref name="ArchiveSha256"/> of its bytes
/// (null until read through); <paramref name="FileKinds"/> counts the library's files by their ending, upper case without the dot.
/// </summary>
public sealed record BoxContents(string Seal, string? ArchiveSha256, string FileName, IReadOnlyList<(string Kind, int Files)> FileKinds);

/// <summary>
/// A library's page; all lists from the highest number down. <paramref name="Versions"/> are those on the shelf: none when all were withdrawn,
/// or when there are only some given early; then <paramref name="Contents"/> is null.
/// </summary>
/// <param name="Library">The box.</param>
/// <param name="Audience">Null only while nothing is on the shelf.</param>
/// <param name="Versions">On the shelf.</param>
/// <param name="Contents">Of the latest on the shelf.</param>
/// <param name="Early">Those this person was given before they are published.</param>
/// <param name="Withdrawn">Those that were on the shelf, and those this person had early; with the reason on the row.</param>
public sealed record BoxPage(
    Library Library, Audience? Audience, IReadOnlyList<BoxVersion> Versions, BoxContents? Contents,
    IReadOnlyList<BoxVersion> Early, IReadOnlyList<Release> Withdrawn)
{
    /// <summary>The highest number on the shelf; only where there is one.</summary>
    public BoxVersion Latest => Versions[0];
}

/// <summary>Reads one box by its slug for one person; null when no such box stands on the shelf.</summary>
public sealed class ReadBox(ShelfDb db, TimeProvider clock)
{
    /// <param name="slug">As in the address.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    public async Task<BoxPage?> RunAsync(string slug, long? personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var library = await db.Libraries.AsNoTracking().Include(l => l.Audiences).SingleOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return null;
        var audience = library.AudienceAt(now);
        var releases = audience is null ? [] : (await PublishedReleases.LoadAsync(db, library.Id, cancellationToken))[library.Id].ToList();
        var person = await PersonFacts.LoadAsync(db, personId, now, cancellationToken);
        var early = await BesideTheShelf.EarlyAsync(db, library, person, now, cancellationToken);
        var withdrawn = await BesideTheShelf.WithdrawnAsync(db, library, person, cancellationToken);
        if (releases.Count + early.Count + withdrawn.Count == 0)
            return null;
        return new BoxPage(library, audience,
            await VersionsAsync(releases, r => person.MayHave(r, library, now), cancellationToken),
            releases.Count == 0 ? null : await ContentsAsync(releases[0].Id, cancellationToken), early, withdrawn);
    }

    private async Task<IReadOnlyList<BoxVersion>> VersionsAsync(
        List<ShelfRelease> releases, Func<Release, MayDownloadWhy> decide, CancellationToken cancellationToken)
    {
        var ids = releases.ConvertAll(r => r.Id);
        var marked = await FolderMarks.LoadAsync(db, ids, cancellationToken);
        var summaries = (await db.ReleaseComparisons.Where(c => ids.Contains(c.ReleaseId) && ids.Contains(c.FromReleaseId) && c.Summary != "")
            .Select(c => new { c.ReleaseId, c.FromReleaseId, c.OfFolders, c.Summary }).ToListAsync(cancellationToken))
            .Where(c => CurrentComparison.Holds(c.OfFolders, c.ReleaseId, c.FromReleaseId, marked))
            .ToDictionary(c => (c.ReleaseId, c.FromReleaseId), c => c.Summary);
        return [.. releases.Select((r, i) => new BoxVersion(r, decide(r.Row), i + 1 < releases.Count && summaries.TryGetValue((r.Id, ids[i + 1]), out var summary)
            ? ChangeSummary.Read(summary)
            : null))];
    }

    private async Task<BoxContents> ContentsAsync(long releaseId, CancellationToken cancellationToken)
    {
        var archive = await db.Archives.AsNoTracking()
            .Where(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full)
            .OrderByDescending(a => a.Id).FirstAsync(cancellationToken);
        var paths = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId).Select(f => f.Path).ToListAsync(cancellationToken);
        var kinds = paths.GroupBy(KindOf, StringComparer.Ordinal)
            .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).Select(g => (g.Key, g.Count()));
        return new BoxContents(archive.RecipeSha256, archive.Sha256, archive.FileName, [.. kinds]);
    }

    private static string KindOf(string path) => Path.GetExtension(path).TrimStart('.').ToUpperInvariant();
}
