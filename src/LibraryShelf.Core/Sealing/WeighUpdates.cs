using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Works out, for all pairs of a library's sealed versions that have no row yet, how big the update would be or what stands in its way. No
/// byte of a recording is read and no archive is made.
/// </summary>
public sealed class WeighUpdates(ShelfDb db, IBlobStore blobs)
{
    /// <summary>Rows written in one transaction.</summary>
    private const int Batch = 100;

    /// <param name="releaseId">Any version of the library.</param>
    /// <param name="cancellationToken">Stops between two pairs.</param>
    /// <returns>How many pairs were worked out. One whose recipes can't be read just now is left for the next time.</returns>
    public async Task<int> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var sides = new UpdateSides(db, blobs);
        var found = await sides.FindAsync(db.Releases.Where(r => db.Releases.Any(o => o.Id == releaseId && o.LibraryId == r.LibraryId)), cancellationToken);
        return await FreshEyes.LookAsync(db, () => WeighAsync(sides, found, cancellationToken), FreshEyes.Never<int>);
    }

    private async Task<int> WeighAsync(UpdateSides sides, List<UpdateSide> found, CancellationToken cancellationToken)
    {
        var ids = found.ConvertAll(s => s.ReleaseId);
        var known = (await db.PossibleUpdates.Where(u => ids.Contains(u.ReleaseId)).Select(u => new { u.ReleaseId, u.FromReleaseId }).ToListAsync(cancellationToken))
            .Select(u => (u.ReleaseId, u.FromReleaseId)).ToHashSet();
        var weighed = 0;
        foreach (var (old, next) in Pairs(found).Where(p => !known.Contains((p.Next.ReleaseId, p.Old.ReleaseId))))
        {
            if (await WeighAsync(sides, old, next, cancellationToken) is not { } row)
                continue;
            db.PossibleUpdates.Add(row);
            if (++weighed % Batch == 0)
                await SaveAsync(cancellationToken);
        }
        await SaveAsync(cancellationToken);
        return weighed;
    }

    /// <summary>Of two the one with the higher number is the next; two that differ in build metadata alone (SemVer §10) have a row too, with an obstacle.</summary>
    private static IEnumerable<(UpdateSide Old, UpdateSide Next)> Pairs(List<UpdateSide> sides) =>
        from one in sides
        from other in sides
        where one.IsBelow(other) || (!other.IsBelow(one) && one.ReleaseId < other.ReleaseId)
        select (one, other);

    private static async Task<PossibleUpdate?> WeighAsync(UpdateSides sides, UpdateSide old, UpdateSide next, CancellationToken cancellationToken)
    {
        cancellationToken.ThrowIfCancellationRequested();
        var row = new PossibleUpdate { ReleaseId = next.ReleaseId, FromReleaseId = old.ReleaseId };
        try
        {
            if (old.IsBelow(next))
                row.Bytes = new ArchiveLayout(await sides.MakeAsync(old, next, cancellationToken)).Length;
            else
                row.Obstacle = FindUpdate.NoneBetween;
            return row;
        }
        catch (RecipeException e)
        {
            row.Obstacle = e.Message;
            return row;
        }
        catch (Exception e) when (UpdateSides.IsOfTheStore(e))
        {
            return null;
        }
    }

    private async Task SaveAsync(CancellationToken cancellationToken)
    {
        await db.SaveChangesAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }
}
