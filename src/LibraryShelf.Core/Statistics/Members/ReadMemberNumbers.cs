using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>
/// Reads who came, stayed and went, from memberships given and paid for, and what deleted people counted for. No downloads are read. Ten years of twenty thousand
/// people are added up while the page is made, so it always says what the rows say.
/// </summary>
public sealed class ReadMemberNumbers(ShelfDb db, TimeProvider clock)
{
    /// <summary>At most shown at once.</summary>
    public const int MostMonths = 120;

    private const int Usually = 12;

    /// <param name="from">The first month; null: a year with the last one.</param>
    /// <param name="to">The last; null: the present one. Both are brought to where something is known.</param>
    public async Task<MemberNumbers> RunAsync(YearMonth? from, YearMonth? to, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var rows = await MemberRows.LoadAsync(db, null, now, cancellationToken);
        var kept = await db.KeptCounts.AsNoTracking().Where(c => c.Figure != MemberFigure.DropHolders && c.Figure != MemberFigure.DropTakers).ToListAsync(cancellationToken);
        kept.AddRange(FailedCounts.Of(await FailedCounts.OfMembers(db).ToListAsync(cancellationToken), zone));
        var calendar = new ShopCalendar(zone, Earliest(rows, kept, zone) ?? now, now);
        var totals = new MemberTotals(calendar, now);
        rows.AddTo(totals);
        kept.ForEach(totals.Add);
        var (first, last) = Range(calendar, from, to);
        var incomes = (await db.MonthIncomes.AsNoTracking().ToListAsync(cancellationToken)).ToLookup(i => i.Month);
        var (paying, given) = rows.At(now);
        var income = await Income.NowAsync(db, now, cancellationToken);
        YearMonth? since = incomes.Count == 0 ? null : incomes.Min(i => i.Key);
        var months = Enumerable.Range(first, last - first + 1).ToList();
        return new(
            calendar.Month(first), calendar.Month(last), calendar.First, calendar.Month(calendar.Count - 1), zone.Id, paying, given,
            await WithoutPriceAsync(now, cancellationToken), since, income,
            months.ConvertAll(m => Month(calendar, totals, m, since, m == calendar.Count - 1 ? income : [.. incomes[calendar.Month(m)].OrderByDescending(i => i.Memberships).ThenBy(i => i.Currency, StringComparer.Ordinal).Select(i => new MonthlyIncome(i.Currency, i.Minor, i.Memberships))])),
            [.. months.Select(m => Stays(calendar, totals, m)).Where(r => r.Joined > 0)],
            [.. months.Select(m => Free(calendar, totals, m, now)).Where(r => r.People > 0)],
            LeftAfter(calendar, totals, months));
    }

    private static DateTimeOffset? Earliest(MemberRows rows, List<KeptCount> kept, DateTimeZone zone)
    {
        var first = kept.Count == 0 ? (DateTimeOffset?)null : zone.AtStartOfDay(kept.Min(k => k.Month).OnDayOfMonth(1)).ToDateTimeOffset();
        return first is null || rows.First < first ? rows.First ?? first : first;
    }

    private static (int First, int Last) Range(ShopCalendar calendar, YearMonth? from, YearMonth? to)
    {
        var last = Math.Clamp(to is { } b ? calendar.IndexOf(b) : calendar.Count - 1, 0, calendar.Count - 1);
        var first = Math.Clamp(from is { } a ? calendar.IndexOf(a) : last - Usually + 1, Math.Max(0, last - MostMonths + 1), calendar.Count - 1);
        return first <= last ? (first, last) : (last, Math.Min(first, last + MostMonths - 1));
    }

    private Task<int> WithoutPriceAsync(DateTimeOffset now, CancellationToken cancellationToken) =>
        db.PaidMemberships.CountAsync(m => m.StartedAt <= now && m.ActiveUntil > now && m.LeavesAt == null && m.EndedAt == null && !m.IsPaused && m.PlanId == null
            && db.Users.Any(u => u.Id == m.PersonId && !u.IsMaker && u.DeletedAt == null), cancellationToken);

    private static MembersMonth Month(ShopCalendar calendar, MemberTotals totals, int month, YearMonth? since, IReadOnlyList<MonthlyIncome> income) => new(
        calendar.Month(month), month < calendar.Count - 1, totals.Of(MemberFigure.AtStart, month), totals.Of(MemberFigure.AtStart, month, 0, false),
        totals.Of(MemberFigure.Joined, month), totals.Of(MemberFigure.Joined, month, 0, false), totals.Of(MemberFigure.Returned, month),
        totals.Of(MemberFigure.Left, month), totals.Of(MemberFigure.Left, month, 0, false),
        calendar.Month(month) >= since ? totals.Of(MemberFigure.Failed, month) : null, calendar.Month(month) >= since ? totals.Of(MemberFigure.Recovered, month) : null, income);

    /// <summary>As far as the month n months later is over: then n months are over for whoever joined on its last day, too.</summary>
    private static StayRow Stays(ShopCalendar calendar, MemberTotals totals, int month) => new(
        calendar.Month(month),
        [totals.Of(MemberFigure.Joined, month), .. Enumerable.Range(1, Math.Max(0, calendar.Count - 2 - month)).Select(n => totals.Of(MemberFigure.Stayed, month, n))]);

    private static FreeRow Free(ShopCalendar calendar, MemberTotals totals, int month, DateTimeOffset now) => new(
        calendar.Month(month), totals.Of(MemberFigure.FirstFree, month),
        [.. MemberTotals.FreeDays.Select(d => totals.Of(MemberFigure.JoinedAfterFree, month, d))],
        [.. MemberTotals.FreeDays.Select(d => now >= DateTimeOffset.FromUnixTimeMilliseconds(calendar.Start(month + 1)).AddDays(d))]);

    private static List<LeftAfterLine> LeftAfter(ShopCalendar calendar, MemberTotals totals, List<int> months) =>
        [.. Enumerable.Range(0, calendar.Count + 1).Select(n => new LeftAfterLine(n, months.Sum(m => totals.Of(MemberFigure.LeftAfter, m, n)))).Where(l => l.People > 0)];
}
