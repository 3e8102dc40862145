using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>
/// On a shelf restored from a backup: deletes once more whoever was deleted after it was made, row by row as then. Nobody is written to, and nothing is
/// asked of the payment provider: both happened then.
/// </summary>
public sealed class DeleteAgain(ShelfDb db)
{
    /// <param name="deletions">Numbers, and when they were deleted. Those this database knows of already are passed over.</param>
    /// <param name="cancellationToken">Stops between two people.</param>
    /// <returns>How many people were there and are gone now.</returns>
    public async Task<int> RunAsync(IEnumerable<(long PersonId, DateTimeOffset At)> deletions, CancellationToken cancellationToken)
    {
        var known = (await db.Deletions.AsNoTracking().Select(d => new { d.PersonId, d.At }).ToListAsync(cancellationToken)).Select(d => (d.PersonId, d.At)).ToHashSet();
        var gone = 0;
        foreach (var (personId, at) in deletions.Where(d => !known.Contains(d)).OrderBy(d => d.At))
        {
            gone += await GoAsync(personId, at, cancellationToken) ? 1 : 0;
            db.ChangeTracker.Clear();
        }
        return gone;
    }

    private async Task<bool> GoAsync(long personId, DateTimeOffset at, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // A restored shelf may have given the number of somebody it does not know to a later person.
        var isTheirs = await db.Users.AnyAsync(p => p.Id == personId && !p.IsMaker && p.CreatedAt < at, cancellationToken);
        var rows = isTheirs ? await PersonRows.FindAsync(db, personId, cancellationToken) : null;
        if (rows is not null)
            await new DeletedRows(db, rows, at).GoAsync(cancellationToken);
        db.Deletions.Add(new Deletion { PersonId = personId, At = at });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return rows is not null;
    }
}
