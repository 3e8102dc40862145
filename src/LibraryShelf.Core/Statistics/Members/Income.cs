using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Statistics.Members;

/// <param name="Currency">ISO 4217 code.</param>
/// <param name="Minor">A month, in its smallest unit.</param>
/// <param name="Memberships">It is the sum of.</param>
public sealed record MonthlyIncome(string Currency, long Minor, int Memberships);

/// <summary>
/// Monthly recurring revenue, as Stripe defines it (docs.stripe.com/billing/subscriptions/analytics/glossary, "Monthly Recurring Revenue (MRR)"): what the running
/// memberships' plans come to a month, a year's divided by twelve. docs/counting.md says where this shelf knows less.
/// </summary>
internal static class Income
{
    /// <summary>By currency, the larger first.</summary>
    public static async Task<List<MonthlyIncome>> NowAsync(ShelfDb db, DateTimeOffset now, CancellationToken cancellationToken)
    {
        // In grace it counts ("active and past_due"); from the moment somebody wants to leave it does not any more; while it rests nothing recurs.
        var sums = await (
            from m in db.PaidMemberships
            where m.StartedAt <= now && m.ActiveUntil > now && m.LeavesAt == null && m.EndedAt == null && !m.IsPaused
            join u in db.Users on m.PersonId equals u.Id
            where !u.IsMaker && u.DeletedAt == null
            join p in db.Plans on m.PlanId equals (long?)p.Id
            group p by new { p.Currency, p.Months } into g
            select new { g.Key.Currency, g.Key.Months, Minor = g.Sum(p => p.Minor), Count = g.Count() }).ToListAsync(cancellationToken);
        return [.. sums.GroupBy(s => s.Currency, StringComparer.Ordinal)
            .Select(g => new MonthlyIncome(g.Key, AMonth(g.Select(s => (s.Minor, s.Months))), g.Sum(s => s.Count)))
            .OrderByDescending(i => i.Memberships).ThenBy(i => i.Currency, StringComparer.Ordinal)];
    }

    /// <summary>Rounded once, at the end, so that twelve members who pay by the year come to what they pay.</summary>
    internal static long AMonth(IEnumerable<(long Minor, int Months)> prices) =>
        (long)Math.Round(prices.Sum(p => p.Minor * 12 / (decimal)p.Months) / 12, MidpointRounding.AwayFromZero);
}

/// <summary>Writes each hour what members' plans come to a month, so that of a month that is over it stays as it last stood.</summary>
public sealed class KeepIncome(ShelfDb db, TimeProvider clock)
{
    private static readonly TimeSpan Again = TimeSpan.FromHours(1);

    /// <returns>False: it was written within the hour.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var month = now.ToInstant().InZone(await MarkDays.ZoneAsync(db, cancellationToken)).Date.ToYearMonth();
        // A clock that was put back has written in its future: that is no reason to wait for it.
        if (await db.MonthIncomes.AnyAsync(i => i.Month == month && i.At > now - Again && i.At <= now, cancellationToken))
            return false;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var incomes = await Income.NowAsync(db, now, cancellationToken);
        // Nothing is a figure too: it says since when it is known.
        if (incomes.Count == 0)
            incomes.Add(new(await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.Currency).SingleOrDefaultAsync(cancellationToken) ?? "EUR", 0, 0));
        await db.MonthIncomes.Where(i => i.Month == month).ExecuteDeleteAsync(cancellationToken);
        db.MonthIncomes.AddRange(incomes.Select(i => new MonthIncome { Month = month, Currency = i.Currency, Minor = i.Minor, Memberships = i.Memberships, At = now }));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }
}
