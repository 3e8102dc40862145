using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Which columns the pictures of members have.</summary>
internal static class MemberColumns
{
    /// <summary>Of the present income, and those that only earlier months shown had.</summary>
    public static IEnumerable<string> Currencies(MemberNumbers numbers) => numbers.Income.Select(i => i.Currency)
        .Concat(numbers.Months.SelectMany(m => m.Income.Select(i => i.Currency)).Order(StringComparer.Ordinal)).Distinct(StringComparer.Ordinal);

    /// <summary>The last twelve months shown of which income is known, oldest first.</summary>
    public static IReadOnlyList<MembersMonth> Months(MemberNumbers numbers) =>
        [.. numbers.Months.Where(m => m.Income.Count > 0 || (!m.IsOver && numbers.KnownSince is not null)).TakeLast(12)];

    /// <summary>One currency's income of <see cref="Months"/>; null: of fewer than two.</summary>
    public static Columns? Income(MemberNumbers numbers, string currency)
    {
        List<Column> columns = [.. Months(numbers).Select(m =>
        {
            var minor = m.Income.FirstOrDefault(i => i.Currency == currency)?.Minor ?? 0;
            var name = m.Month.ToString("MMM", Say.Culture);
            return new Column(name, name[..1], minor, Money.Short(minor, currency));
        })];
        return columns.Count < 2 ? null : new(T($"Income a month in {currency}"), columns);
    }

    /// <summary>The same as a table: each month of the first year that has a column, and each later one with anybody.</summary>
    public static IEnumerable<LeftAfterLine> LeavingRows(MemberNumbers numbers) =>
        Enumerable.Range(0, Math.Min(12, numbers.LeftAfter.Max(l => l.Months) + 1)).Select(n => numbers.LeftAfter.FirstOrDefault(l => l.Months == n) ?? new(n, 0))
            .Concat(numbers.LeftAfter.Where(l => l.Months >= 12));

    /// <summary>Months until leaving, a column each up to a year, then a column a year.</summary>
    public static Columns Leaving(MemberNumbers numbers)
    {
        var years = numbers.LeftAfter.Max(l => l.Months) / 12;
        var columns = Enumerable.Range(0, Math.Min(12, numbers.LeftAfter.Max(l => l.Months) + 1)).Select(n => Of(n, n, n.ToString(Say.Culture)))
            .Concat(Enumerable.Range(1, years).Select(y => Of(12 * y, (12 * y) + 11, $"{12 * y}+")));
        return new(T("People by whole months until they left"), [.. columns]);

        Column Of(int from, int to, string label)
        {
            var people = numbers.LeftAfter.Where(l => l.Months >= from && l.Months <= to).Sum(l => l.People);
            return new(label, label, people, people.ToString(Say.Culture));
        }
    }
}
