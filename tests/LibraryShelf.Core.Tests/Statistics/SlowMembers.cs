using LibraryShelf.Core.Statistics.Members;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>One person's past, as a test draws it.</summary>
internal sealed record Past(IReadOnlyList<(DateTimeOffset From, DateTimeOffset? Until, bool IsPaid)> Times, DateTimeOffset? FreeAt)
{
    /// <summary>Of each time that is paid for, in their order; empty: nothing is known of money.</summary>
    public IReadOnlyList<Terms> Money { get; init; } = [];
}

/// <summary>What is known of the money of a time that is paid for.</summary>
/// <param name="Plan">Null: its price is no plan of this shelf's.</param>
/// <param name="IsLeaving">They have decided to leave.</param>
/// <param name="IsPaused">It rests.</param>
/// <param name="IsEnded">It was ended at once.</param>
/// <param name="Failed">Renewals that failed: when the invoice was made, and when it was paid after all.</param>
internal sealed record Terms((long Minor, int Months, string Currency)? Plan, bool IsLeaving, bool IsPaused, bool IsEnded, IReadOnlyList<(DateTimeOffset Since, DateTimeOffset? PaidAt)> Failed);

/// <summary>
/// The definitions of docs/counting.md, "Members", one after the other, each asked of each person and each month by itself: slow, and short enough to be read beside them.
/// Somebody's beginnings and ends are found once.
/// </summary>
internal sealed class SlowMembers(IReadOnlyList<Past> people, DateTimeZone zone, DateTimeOffset now)
{
    private static readonly TimeSpan Instant1 = TimeSpan.FromMilliseconds(1);

    private readonly Dictionary<Past, List<DateTimeOffset>> beginnings = new(ReferenceEqualityComparer.Instance), ends = new(ReferenceEqualityComparer.Instance);

    /// <summary>"A member at an instant": some time of theirs has begun and has not ended.</summary>
    public static bool Is(Past person, DateTimeOffset at) => person.Times.Any(t => t.From <= at && (t.Until is null || at < t.Until));

    private static bool Pays(Past person, DateTimeOffset at) => person.Times.Any(t => t.IsPaid && t.From <= at && at < t.Until);

    public DateTimeOffset Start(YearMonth month) => zone.AtStartOfDay(month.OnDayOfMonth(1)).ToDateTimeOffset();

    private LocalDate Date(DateTimeOffset at) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    private static bool Through(Past person, DateTimeOffset at) => Is(person, at - Instant1) && Is(person, at);

    /// <summary>Instants at which they became a member: one, and the moment before none.</summary>
    private List<DateTimeOffset> Beginnings(Past person) => Once(beginnings, person, () =>
        person.Times.Select(t => t.From).Where(f => f <= now && Is(person, f) && !Is(person, f - Instant1)).Distinct().Order());

    /// <summary>Instants at which they were none any more.</summary>
    private List<DateTimeOffset> Ends(Past person) => Once(ends, person, () =>
        person.Times.Select(t => t.Until).OfType<DateTimeOffset>().Where(u => u <= now && Is(person, u - Instant1) && !Is(person, u)).Distinct().Order());

    private static List<DateTimeOffset> Once(Dictionary<Past, List<DateTimeOffset>> kept, Past person, Func<IEnumerable<DateTimeOffset>> find) =>
        kept.TryGetValue(person, out var found) ? found : kept[person] = [.. find()];

    public int AtStart(YearMonth month, bool isPaid) => people.Count(p => Through(p, Start(month)) && Pays(p, Start(month)) == isPaid);

    public int Joined(YearMonth month, bool isPaid) => people.Count(p => Beginnings(p) is [var first, ..] && Date(first).ToYearMonth() == month && Pays(p, first) == isPaid);

    public int Returned(YearMonth month) => people.Sum(p => Beginnings(p).Skip(1).Count(b => Date(b).ToYearMonth() == month));

    /// <summary>In the month of the last moment of being one.</summary>
    public int Left(YearMonth month, bool isPaid) => people.Sum(p => Ends(p).Count(e => Date(e - Instant1).ToYearMonth() == month && Pays(p, e - Instant1) == isPaid));

    public int Stayed(YearMonth joined, int n) => people.Count(p => Beginnings(p) is [var first, ..] && Date(first).ToYearMonth() == joined
        && zone.AtStartOfDay(Date(first).PlusMonths(n).PlusDays(1)).ToDateTimeOffset() is var at && at <= now && Through(p, at));

    public int LeftAfter(YearMonth month, int n) => people.Count(p => Ends(p) is [var end, ..] && Date(end - Instant1).ToYearMonth() == month
        && Period.Between(Date(Beginnings(p)[0]), Date(end), PeriodUnits.Months).Months == n);

    public int FirstFree(YearMonth month) => people.Count(p => IsFree(p, month));

    public int JoinedAfterFree(YearMonth month, int days) => people.Count(p => IsFree(p, month) && Beginnings(p) is [var first, ..] && first - p.FreeAt <= TimeSpan.FromDays(days));

    private bool IsFree(Past p, YearMonth month) => p.FreeAt is { } free && free <= now && Date(free).ToYearMonth() == month && !Beginnings(p).Any(b => b <= free);

    /// <summary>"In the month in which its invoice was made."</summary>
    public int Failed(YearMonth month) => people.Sum(p => p.Money.Sum(m => m.Failed.Count(f => Date(f.Since).ToYearMonth() == month)));

    public int Recovered(YearMonth month) => people.Sum(p => p.Money.Sum(m => m.Failed.Count(f => Date(f.Since).ToYearMonth() == month && f.PaidAt is not null)));

    /// <summary>"The plans' prices, a year's divided by twelve, of memberships that run": no more once somebody decided to leave, nor while it rests. "GBP 1250 of 3", each currency that any is in; in order.</summary>
    public List<string> Income() => [.. Running().Where(t => t.Plan is not null).Select(t => t.Plan!.Value).GroupBy(p => p.Currency)
        .Select(g => (g.Key, Twelfths: g.Sum(p => p.Months == 12 ? p.Minor : p.Minor * 12), Count: g.Count()))
        .Select(i => $"{i.Key} {(i.Twelfths + 6) / 12} of {i.Count}").Order(StringComparer.Ordinal)];

    /// <summary>"Whose price is no plan of this shelf's."</summary>
    public int WithoutPrice => Running().Count(t => t.Plan is null);

    private IEnumerable<Terms> Running() => from p in people
                                            from t in p.Times.Where(t => t.IsPaid).Zip(p.Money)
                                            where t.First.From <= now && now < t.First.Until && !t.Second.IsLeaving && !t.Second.IsPaused && !t.Second.IsEnded
                                            select t.Second;

    public int Count(MemberFigure figure, YearMonth month, int n, bool isPaid) => figure switch
    {
        MemberFigure.AtStart => AtStart(month, isPaid),
        MemberFigure.Joined => Joined(month, isPaid),
        MemberFigure.Left => Left(month, isPaid),
        MemberFigure.Returned => Returned(month),
        MemberFigure.Stayed => n == 0 ? 0 : Stayed(month, n),
        MemberFigure.LeftAfter => LeftAfter(month, n),
        MemberFigure.FirstFree => FirstFree(month),
        MemberFigure.JoinedAfterFree => JoinedAfterFree(month, n),
        _ => 0,
    };
}
