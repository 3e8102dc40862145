using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;
using NodaTime.Text;

namespace LibraryShelf.Core.Downloads;

public abstract record FindDropArchiveOutcome
{
    private FindDropArchiveOutcome() { }

    /// <summary>The archive; its length is known, its digest perhaps not yet.</summary>
    public sealed record Found(Archive Archive) : FindDropArchiveOutcome;

    /// <summary>There is none; the versions are fetched one by one. Why, in words for people.</summary>
    public sealed record None(string Why) : FindDropArchiveOutcome;
}

/// <summary>
/// A month that went out as one archive. Made when first asked for, without reading a byte of a recording, and the same bytes whenever it is made;
/// afterwards it is a row. Whether this person may have it is not asked here.
/// </summary>
public sealed class FindDropArchive(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    internal static string NotOut => T("There is no such month on the shelf.");

    public async Task<FindDropArchiveOutcome> RunAsync(long dropId, CancellationToken cancellationToken)
    {
        if (await KeptAsync(dropId, cancellationToken) is { } kept)
            return new FindDropArchiveOutcome.Found(kept);
        if (await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == dropId && d.State == DropState.Sent, cancellationToken) is not { } drop)
            return new FindDropArchiveOutcome.None(NotOut);
        var versions = await (from d in db.DropReleases
                              where d.DropId == dropId
                              join a in db.Archives.Where(a => a.Kind == ArchiveKind.Full) on d.ReleaseId equals a.ReleaseId
                              orderby d.Place, d.Id
                              select new { d.ReleaseId, a.RecipeSha256 }).ToListAsync(cancellationToken);
        if (versions.Count == 0)
            return new FindDropArchiveOutcome.None(NotOut);
        try
        {
            var recipes = new List<Recipe>();
            foreach (var version in versions)
                recipes.Add(await ReadAsync(version.RecipeSha256, cancellationToken));
            return new FindDropArchiveOutcome.Found(await KeepAsync(drop, versions[0].ReleaseId, DropArchive.Build(recipes), cancellationToken));
        }
        catch (RecipeException e)
        {
            return new FindDropArchiveOutcome.None(e.Message);
        }
        catch (Exception e) when (UpdateSides.IsOfTheStore(e))
        {
            db.ChangeTracker.Clear();
            return new FindDropArchiveOutcome.None(T("The month could not be put together just now. Take its libraries one by one, or come back later."));
        }
    }

    private async Task<Archive> KeepAsync(Drop drop, long firstReleaseId, Recipe recipe, CancellationToken cancellationToken)
    {
        using var bytes = new MemoryStream(recipe.CanonicalBytes.ToArray(), writable: false);
        var stored = await blobs.PutAsync(bytes, cancellationToken);
        return await FreshEyes.LookAsync(db, async () =>
        {
            // Who asked at the same moment has perhaps written the row by now.
            if (await KeptAsync(drop.Id, cancellationToken) is { } kept)
                return kept;
            await BlobRows.RecordAsync(db, [stored], clock.GetUtcNow(), cancellationToken);
            var made = new Archive
            {
                ReleaseId = firstReleaseId, DropId = drop.Id, Kind = ArchiveKind.Drop, RecipeSha256 = recipe.Sha256, Length = new ArchiveLayout(recipe).Length,
                FileName = DropArchive.FileName(drop.Title.Length > 0 ? drop.Title : "Month", YearMonthPattern.Iso.Format(drop.Month)), CreatedAt = clock.GetUtcNow(),
            };
            db.Archives.Add(made);
            await db.SaveChangesAsync(cancellationToken);
            db.Entry(made).State = EntityState.Detached;
            return made;
        }, FreshEyes.Never<Archive>);
    }

    private Task<Archive?> KeptAsync(long dropId, CancellationToken cancellationToken) =>
        db.Archives.AsNoTracking().FirstOrDefaultAsync(a => a.DropId == dropId, cancellationToken);

    private async Task<Recipe> ReadAsync(string recipeSha256, CancellationToken cancellationToken)
    {
        await using var stored = blobs.Open(recipeSha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes, cancellationToken);
        return Recipe.Parse(bytes.ToArray());
    }
}
