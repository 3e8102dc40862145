using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>A plan's price at the payment provider.</summary>
internal static class PlanPrice
{
    /// <summary>Finds it there, or makes it; the caller saves the tracked <paramref name="plan"/>.</summary>
    /// <exception cref="PaymentsUnreachableException">It could not be made.</exception>
    public static async Task<string> OfAsync(ShelfDb db, IPayments payments, Plan plan, CancellationToken cancellationToken)
    {
        // Asked each time, by its lookup key: what was made in practice, or with another key, is not there with this one.
        var shop = await db.Shops.Select(s => s.Name).SingleAsync(cancellationToken);
        return plan.ProviderId = await payments.MakePriceAsync(
            new PriceWish(plan.Id, T($"Membership of {shop}"), plan.Minor, plan.Currency, plan.Months, plan.IsTaxIncluded), cancellationToken);
    }
}
