using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Payments;

/// <param name="FirstDay">From this day on, by the shop's clock, a renewal costs the new price.</param>
/// <param name="Reason">Stands in the mail.</param>
public sealed record NewPrice(long FromPlanId, long ToPlanId, DateOnly FirstDay, string? Reason);

public enum ChangePricesOutcome
{
    /// <summary>The change stands, and nobody joins by the old plan any more. Those it concerns are told next.</summary>
    Announced,
    /// <summary>One of the two is not there, the new one is closed, they are the same, or differ in length or currency; nothing was written.</summary>
    NotTwoPlans,
    /// <summary>Nobody pays by the old plan who is not waiting for another price already; nothing was written.</summary>
    NobodyPaysIt,
    /// <summary>The day leaves them less time than the setting; nothing was written.</summary>
    TooSoon,
    /// <summary>The reason is empty or too long; nothing was written.</summary>
    NoReason,
}

/// <summary>
/// Another price for those who are members: announced at once to each, in force from the first renewal on or after a day that leaves them time to go. Who joins
/// meanwhile pays the new price from the start, because the old plan is closed with it.
/// </summary>
public sealed class ChangePrices(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public const int LongestReason = 1_000;

    public async Task<ChangePricesOutcome> RunAsync(NewPrice wish, CancellationToken cancellationToken)
    {
        var reason = (wish.Reason ?? "").Trim();
        if (reason.Length is 0 or > LongestReason)
            return ChangePricesOutcome.NoReason;
        var now = clock.GetUtcNow();
        db.IsMoney = true;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var from = await db.Plans.SingleOrDefaultAsync(p => p.Id == wish.FromPlanId, cancellationToken);
        var to = await db.Plans.SingleOrDefaultAsync(p => p.Id == wish.ToPlanId && p.ClosedAt == null, cancellationToken);
        if (from is null || to is null || from.Id == to.Id || from.Months != to.Months || from.Currency != to.Currency)
            return ChangePricesOutcome.NotTwoPlans;
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleAsync(cancellationToken));
        var start = zone.AtStartOfDay(LocalDate.FromDateOnly(wish.FirstDay)).ToDateTimeOffset();
        if (start < now.AddDays(settings.Value.Membership.PriceNoticeDays))
            return ChangePricesOutcome.TooSoon;
        if (!await PriceChangePeople.Of(db, from.Id, now).AnyAsync(cancellationToken))
            return ChangePricesOutcome.NobodyPaysIt;
        from.ClosedAt ??= now;
        db.PriceChanges.Add(new PriceChange { FromPlanId = from.Id, ToPlanId = to.Id, From = start, Reason = reason, AnnouncedAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return ChangePricesOutcome.Announced;
    }
}

/// <summary>Whom a change of price concerns.</summary>
internal static class PriceChangePeople
{
    /// <summary>Running memberships of the plan that will be renewed and don't wait for another price already; by their ids.</summary>
    public static IQueryable<PaidMembership> Of(ShelfDb db, long planId, DateTimeOffset now) =>
        from m in db.PaidMemberships
        where m.PlanId == planId && m.EndedAt == null && m.LeavesAt == null && m.ActiveUntil > now
            && !db.PriceChangeLines.Any(l => l.PaidMembershipId == m.Id && l.AppliedAt == null && l.SkippedAt == null
                && db.PriceChanges.Any(c => c.Id == l.PriceChangeId && c.CalledOffAt == null))
        orderby m.Id
        select m;
}
