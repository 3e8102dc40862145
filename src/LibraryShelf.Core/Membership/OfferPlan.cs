using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

public enum OfferPlanOutcome
{
    Offered,
    /// <summary>The same is offered already; nothing was written.</summary>
    AlreadyOffered,
    /// <summary>The price is not above nothing, or the length is neither a month nor a year; nothing was written.</summary>
    NotAPlan,
}

/// <summary>The maker offers a plan. A price never changes: another price is another plan, and who joined by the old one pays the old one.</summary>
public sealed class OfferPlan(ShelfDb db, TimeProvider clock)
{
    /// <param name="months">1 or 12.</param>
    /// <param name="minor">As people pay it, in the currency's smallest unit; above 0.</param>
    /// <param name="isTaxIncluded">The maker says that tax is in it.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<OfferPlanOutcome> RunAsync(int months, long minor, bool isTaxIncluded, CancellationToken cancellationToken)
    {
        if (months is not (1 or 12) || minor <= 0)
            return OfferPlanOutcome.NotAPlan;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var currency = await db.Shops.Select(s => s.Currency).SingleAsync(cancellationToken);
        if (await db.Plans.AnyAsync(
            p => p.ClosedAt == null && p.Months == months && p.Minor == minor && p.Currency == currency && p.IsTaxIncluded == isTaxIncluded, cancellationToken))
            return OfferPlanOutcome.AlreadyOffered;
        db.Plans.Add(new Plan { Months = months, Minor = minor, Currency = currency, IsTaxIncluded = isTaxIncluded, CreatedAt = clock.GetUtcNow() });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return OfferPlanOutcome.Offered;
    }
}

/// <summary>Nobody can join by this plan any more; who did, stays and pays as before.</summary>
public sealed class ClosePlan(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: it was closed already, or there is none.</returns>
    public async Task<bool> RunAsync(long planId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Plans.Where(p => p.Id == planId && p.ClosedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(p => p.ClosedAt, now), cancellationToken) > 0;
    }
}
