using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

public abstract record PortalOutcome
{
    private PortalOutcome() { }

    /// <summary>Good for a short while.</summary>
    public sealed record Open(Uri Page) : PortalOutcome;

    /// <summary>This person never paid.</summary>
    public sealed record NeverPaid : PortalOutcome;

    public sealed record Unreachable(string Words) : PortalOutcome;
}

/// <summary>The provider's page where a person changes the card and finds the invoices.</summary>
public sealed class FindPortal(ShelfDb db, IPayments payments)
{
    public async Task<PortalOutcome> RunAsync(long personId, Uri back, CancellationToken cancellationToken)
    {
        var customer = await db.PaidMemberships.Where(m => m.PersonId == personId)
            .OrderByDescending(m => m.ActiveUntil).ThenByDescending(m => m.Id).Select(m => m.CustomerId).FirstOrDefaultAsync(cancellationToken);
        if (customer is null)
            return new PortalOutcome.NeverPaid();
        try
        {
            return new PortalOutcome.Open(await payments.OpenPortalAsync(customer, back, cancellationToken));
        }
        catch (PaymentsUnreachableException away)
        {
            return new PortalOutcome.Unreachable(away.Message);
        }
    }
}
