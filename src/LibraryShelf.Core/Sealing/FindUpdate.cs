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
    internal static string NoneBetween => T("There is no update between these versions. Take the whole library.");

    /// <summary>An archive nobody fetched goes after weeks; one that is asked for again is not to go from under its link.</summary>
    private static readonly TimeSpan FreshFor = TimeSpan.FromDays(1);

    private readonly UpdateSides sides = new(db, blobs);

    /// <param name="releaseId">The version to update to; sealed.</param>
    /// <param name="fromReleaseId">The version to update from; sealed, of the same library, with a lower number (SemVer 2.0.0 §11).</param>
    public async Task<FindUpdateOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        if (await KeptAsync(releaseId, fromReleaseId, cancellationToken) is { } kept && await IsFreshAsync(kept, cancellationToken))
            return new FindUpdateOutcome.Found(kept);
        var found = await sides.FindAsync(db.Releases.Where(r => r.Id == releaseId || r.Id == fromReleaseId), cancellationToken);
        if (found.Find(s => s.ReleaseId == releaseId) is not { } next || found.Find(s => s.ReleaseId == fromReleaseId) is not { } old
            || next.LibraryId != old.LibraryId || !old.IsBelow(next))
            return new FindUpdateOutcome.None(NoneBetween);
        try
        {
            return await MakeAsync(old, next, cancellationToken);
        }
        catch (RecipeException e)
        {
            return new FindUpdateOutcome.None(e.Message);
        }
        catch (Exception e) when (UpdateSides.IsOfTheStore(e))
        {
            db.ChangeTracker.Clear();
            return new FindUpdateOutcome.None(T("The update could not be made just now. Take the whole library, or come back later."));
        }
    }

    private async Task<FindUpdateOutcome> MakeAsync(UpdateSide old, UpdateSide next, CancellationToken cancellationToken)
    {
        var recipe = await sides.MakeAsync(old, next, cancellationToken);
        using var bytes = new MemoryStream(recipe.CanonicalBytes.ToArray(), writable: false);
        var stored = await blobs.PutAsync(bytes, cancellationToken);
        var archive = await FreshEyes.LookAsync(db, async () =>
        {
            // Who asked at the same moment has perhaps written the row by now.
            if (await KeptAsync(next.ReleaseId, old.ReleaseId, cancellationToken) is { } kept)
                return kept;
            await BlobRows.RecordAsync(db, [stored], clock.GetUtcNow(), cancellationToken);
            var made = new Archive
            {
                ReleaseId = next.ReleaseId, FromReleaseId = old.ReleaseId, Kind = ArchiveKind.Update, RecipeSha256 = recipe.Sha256,
                Length = new ArchiveLayout(recipe).Length, CreatedAt = clock.GetUtcNow(),
                FileName = UpdateArchive.FileName(SealInput.ArchiveTitle(next.Library), old.Number, next.Number),
            };
            db.Archives.Add(made);
            await db.SaveChangesAsync(cancellationToken);
            db.Entry(made).State = EntityState.Detached;
            return made;
        }, FreshEyes.Never<Archive>);
        // REMOVED.txt names what versions published since have left, so some bytes may differ from what was worked out at sealing.
        await db.PossibleUpdates.Where(u => u.ReleaseId == archive.ReleaseId && u.FromReleaseId == archive.FromReleaseId && u.Bytes != archive.Length)
            .ExecuteUpdateAsync(u => u.SetProperty(x => x.Bytes, archive.Length), cancellationToken);
        return new FindUpdateOutcome.Found(archive);
    }

    private Task<Archive?> KeptAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken) => db.Archives.AsNoTracking()
        .FirstOrDefaultAsync(a => a.ReleaseId == releaseId && a.FromReleaseId == fromReleaseId && a.Kind == ArchiveKind.Update, cancellationToken);

    /// <summary>Steps the row's date when it is old. False when the row went in this moment.</summary>
    private async Task<bool> IsFreshAsync(Archive kept, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return now - kept.CreatedAt < FreshFor
            || await db.Archives.Where(a => a.Id == kept.Id).ExecuteUpdateAsync(a => a.SetProperty(x => x.CreatedAt, now), cancellationToken) == 1;
    }
}
