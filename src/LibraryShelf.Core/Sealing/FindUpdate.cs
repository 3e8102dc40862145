using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

public abstract record FindUpdateOutcome
{
    private FindUpdateOutcome() { }

    /// <summary>The update archive; its length is known, its digest perhaps not yet.</summary>
    public sealed record Found(Archive Archive) : FindUpdateOutcome;

    /// <summary>There is none between these two; the whole library is the way. Why, in words for people.</summary>
    public sealed record None(string Why) : FindUpdateOutcome;
}

/// <summary>
/// The update archive from an earlier version of the same library, also one withdrawn since. Made when first asked for, without reading a byte
/// of a recording; afterwards it is a row. Whether this person may have it is not asked here.
/// </summary>
public sealed class FindUpdate(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    private sealed record Side(long LibraryId, string Number, string RecipeSha256, Library Library);

    /// <param name="releaseId">The version to update to; sealed.</param>
    /// <param name="fromReleaseId">The version to update from; sealed, of the same library, with a lower number (SemVer 2.0.0 §11).</param>
    public async Task<FindUpdateOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        if (await KeptAsync(releaseId, fromReleaseId, cancellationToken) is { } kept)
            return new FindUpdateOutcome.Found(kept);
        if (await SideAsync(releaseId, cancellationToken) is not { } next || await SideAsync(fromReleaseId, cancellationToken) is not { } old
            || next.LibraryId != old.LibraryId || ReleaseNumbers.ByPrecedence.Compare(old.Number, next.Number) >= 0)
            return new FindUpdateOutcome.None("There is no update between these versions. Take the whole library.");
        try
        {
            return await MakeAsync(releaseId, fromReleaseId, old, next, cancellationToken);
        }
        catch (RecipeException e)
        {
            return new FindUpdateOutcome.None(e.Message);
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is not null || e is IOException or UnauthorizedAccessException or FormatException)
        {
            db.ChangeTracker.Clear();
            return new FindUpdateOutcome.None("The update could not be made just now. Take the whole library, or come back later.");
        }
    }

    private async Task<FindUpdateOutcome> MakeAsync(long releaseId, long fromReleaseId, Side old, Side next, CancellationToken cancellationToken)
    {
        var earlier = await EarlierPathsAsync(next.LibraryId, old.Number, cancellationToken);
        var recipe = UpdateArchive.Build(await ReadAsync(old, cancellationToken), await ReadAsync(next, cancellationToken), old.Number, next.Number, earlier);
        using var bytes = new MemoryStream(recipe.CanonicalBytes.ToArray(), writable: false);
        var stored = await blobs.PutAsync(bytes, cancellationToken);
        return new FindUpdateOutcome.Found(await FreshEyes.LookAsync(db, async () =>
        {
            // Who asked at the same moment has perhaps written the row by now.
            if (await KeptAsync(releaseId, fromReleaseId, cancellationToken) is { } kept)
                return kept;
            await BlobRows.RecordAsync(db, [stored], clock.GetUtcNow(), cancellationToken);
            var archive = new Archive
            {
                ReleaseId = releaseId, FromReleaseId = fromReleaseId, Kind = ArchiveKind.Update, RecipeSha256 = recipe.Sha256,
                Length = new ArchiveLayout(recipe).Length, CreatedAt = clock.GetUtcNow(),
                FileName = UpdateArchive.FileName(SealInput.ArchiveTitle(next.Library), old.Number, next.Number),
            };
            db.Archives.Add(archive);
            await db.SaveChangesAsync(cancellationToken);
            db.Entry(archive).State = EntityState.Detached;
            return archive;
        }, FreshEyes.Never<Archive>));
    }

    private Task<Archive?> KeptAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken) => db.Archives.AsNoTracking()
        .FirstOrDefaultAsync(a => a.ReleaseId == releaseId && a.FromReleaseId == fromReleaseId && a.Kind == ArchiveKind.Update, cancellationToken);

    private Task<Side?> SideAsync(long releaseId, CancellationToken cancellationToken) =>
        (from r in db.Releases.AsNoTracking()
         where r.Id == releaseId && r.SealedAt != null
         from a in db.Archives.Where(a => a.ReleaseId == r.Id && a.Kind == ArchiveKind.Full)
         orderby a.Id descending
         select new Side(r.LibraryId, r.Number, a.RecipeSha256, r.Library)).FirstOrDefaultAsync(cancellationToken);

    /// <summary>Of versions that were on the shelf: nobody has another, and the names in it are nobody's to read.</summary>
    private async Task<List<string>> EarlierPathsAsync(long libraryId, string number, CancellationToken cancellationToken)
    {
        var releases = await db.Releases.Where(r => r.LibraryId == libraryId && r.PublishedAt != null).Select(r => new { r.Id, r.Number }).ToListAsync(cancellationToken);
        var earlier = releases.Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, number) < 0).Select(r => r.Id).ToList();
        return await db.ReleaseFiles.Where(f => earlier.Contains(f.ReleaseId)).Select(f => f.Path).Distinct().ToListAsync(cancellationToken);
    }

    private async Task<Recipe> ReadAsync(Side side, CancellationToken cancellationToken)
    {
        await using var stored = blobs.Open(side.RecipeSha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes, cancellationToken);
        return Recipe.Parse(bytes.ToArray());
    }
}
