using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>A paid month of someone's, with the boxes that came out in it.</summary>
public sealed record MyMonth(YearMonth Month, DateTimeOffset OpensAt, IReadOnlyList<string> Boxes);

/// <param name="Paid">The paid membership that counts, or the last one; null: never paid.</param>
/// <param name="Standing">Of <paramref name="Paid"/>.</param>
/// <param name="Months">Newest first.</param>
public sealed record MyMembership(PaidMembership? Paid, Plan? Plan, MembershipStanding Standing, IReadOnlyList<MyMonth> Months);

/// <summary>How a person's paid membership stands, and the months that are theirs.</summary>
public sealed class ReadMyMembership(ShelfDb db, TimeProvider clock)
{
    public async Task<MyMembership> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var paid = await db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == personId)
            .OrderByDescending(m => m.ActiveUntil).ThenByDescending(m => m.Id).FirstOrDefaultAsync(cancellationToken);
        var plan = paid?.PlanId is { } id ? await db.Plans.AsNoTracking().SingleAsync(p => p.Id == id, cancellationToken) : null;
        var months = await db.PaidMonths.AsNoTracking().Where(m => m.PersonId == personId).OrderByDescending(m => m.Month).ToListAsync(cancellationToken);
        var boxes = await MonthBoxes.LoadAsync(db, cancellationToken);
        return new(
            paid, plan, paid is null ? MembershipStanding.Left : MembershipRule.StandingAt(paid, clock.GetUtcNow()),
            [.. months.Select(m => new MyMonth(m.Month, m.OpensAt, [.. boxes[m.Month]]))]);
    }
}
