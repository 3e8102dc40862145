using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Memberships at the provider that a restored shelf does not know, of somebody who had themselves deleted after its backup was made: they are kept as those
/// of all deleted people are, under a row without a name, and nobody comes back by the provider's memory.
/// </summary>
internal static class DeletedPayers
{
    /// <returns>Null: whoever pays was not deleted, or this membership began after it.</returns>
    public static async Task<Deletion?> FindAsync(ShelfDb db, ProviderMembership told, CancellationToken cancellationToken)
    {
        var payer = Deletion.PayerOf(told.CustomerId);
        return await db.Deletions.AsNoTracking().Where(d => d.Payer == payer && d.At > told.StartedAt).OrderBy(d => d.At).FirstOrDefaultAsync(cancellationToken);
    }

    /// <summary>Inside the caller's transaction: the row without a name. A joining that was not paid when the backup was made loses its address, too.</summary>
    public static async Task<Person> RowAsync(ShelfDb db, Deletion gone, ProviderMembership told, Joining? joining, CancellationToken cancellationToken)
    {
        var person = await db.Users.SingleOrDefaultAsync(p => p.Id == gone.PersonId && p.DeletedAt == gone.At, cancellationToken)
            ?? await db.Users.Where(p => p.DeletedAt == gone.At && db.PaidMemberships.Any(m => m.PersonId == p.Id && m.CustomerId == told.CustomerId)).FirstOrDefaultAsync(cancellationToken)
            ?? await People.AddNamelessAsync(db, gone.At, cancellationToken);
        if (joining is not null)
            joining.Forget(person.Id);
        return person;
    }
}
