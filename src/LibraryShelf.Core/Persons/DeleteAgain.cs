using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>
/// On a shelf restored from a backup: deletes once more whoever was deleted after it was made, row by row as then. Nobody is written to, and nothing is
/// asked of the payment provider: both happened then.
/// </summary>
public sealed class DeleteAgain(ShelfDb db)
{
    /// <param name="deletions">Numbers, when they were deleted, and under which names they paid (<see cref="Deletion.Payer"/>). Those this database knows of already are passed over.</param>
    /// <param name="cancellationToken">Stops between two people.</param>
    /// <returns>How many people were there and are gone now.</returns>
    public async Task<int> RunAsync(IEnumerable<(long PersonId, DateTimeOffset At, string? Payer)> deletions, CancellationToken cancellationToken)
    {
        var known = (await db.Deletions.AsNoTracking().Select(d => new { d.PersonId, d.At, d.Payer }).ToListAsync(cancellationToken)).Select(d => (d.PersonId, d.At, d.Payer)).ToHashSet();
        var gone = 0;
        foreach (var one in deletions.Where(d => !known.Contains(d)).GroupBy(d => (d.PersonId, d.At)).OrderBy(g => g.Key.At))
        {
            gone += await GoAsync(one.Key.PersonId, one.Key.At, [.. one.Select(d => d.Payer)], cancellationToken) ? 1 : 0;
            db.ChangeTracker.Clear();
        }
        return gone;
    }

    private async Task<bool> GoAsync(long personId, DateTimeOffset at, string?[] payers, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // A restored shelf may have given the number of somebody it does not know to a later person.
        var isTheirs = payers.Contains(null) && await db.Users.AnyAsync(p => p.Id == personId && !p.IsMaker && p.CreatedAt < at, cancellationToken);
        var rows = isTheirs ? await PersonRows.FindAsync(db, personId, cancellationToken) : null;
        if (rows is not null)
            await new DeletedRows(db, rows, at).GoAsync(cancellationToken);
        db.Deletions.AddRange(payers.Select(p => new Deletion { PersonId = personId, At = at, Payer = p }));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return rows is not null;
    }
}
