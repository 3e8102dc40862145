using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

public enum TellAddressOutcome
{
    /// <summary>The provider writes to the person's address of now.</summary>
    Told,
    /// <summary>This person never paid, or no provider is set.</summary>
    NothingToTell,
    /// <summary>The provider could not be asked. The daily look (<see cref="LookAgain"/>) tells it of memberships that go on.</summary>
    Later,
}

/// <summary>Tells the payment provider a person's address of now. Doing it twice changes nothing.</summary>
public sealed class TellNewAddress(ShelfDb db, IPayments payments)
{
    public async Task<TellAddressOutcome> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var email = await db.Users.Where(p => p.Id == personId).Select(p => p.Email).SingleOrDefaultAsync(cancellationToken);
        var customers = await db.PaidMemberships.Where(m => m.PersonId == personId).Select(m => m.CustomerId).Distinct().ToListAsync(cancellationToken);
        if (email is null || customers.Count == 0 || !payments.IsOpen)
            return TellAddressOutcome.NothingToTell;
        var outcome = TellAddressOutcome.Told;
        foreach (var customer in customers)
        {
            try
            {
                await payments.ChangeAddressAsync(customer, email, cancellationToken);
            }
            catch (PaymentsUnreachableException)
            {
                outcome = TellAddressOutcome.Later;
            }
        }
        return outcome;
    }
}
