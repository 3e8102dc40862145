using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Which columns the pictures of members have.</summary>
internal static class MemberColumns
{
    /// <summary>Of the present income, and those that only earlier months shown had.</summary>
    public static IEnumerable<string> Currencies(MemberNumbers numbers) => numbers.Income.Select(i => i.Currency)
        .Concat(numbers.Months.SelectMany(m => m.Income.Select(i => i.Currency)).Order(StringComparer.Ordinal)).Distinct(StringComparer.Ordinal);

    /// <summary>Months in a row of a picture.</summary>
    internal const int InARow = 12;

    /// <summary>The months shown of which income is known, oldest first.</summary>
    public static IReadOnlyList<MembersMonth> Months(MemberNumbers numbers) =>
        [.. numbers.Months.Where(m => m.Income.Count > 0 || (!m.IsOver && numbers.KnownSince is not null))];

    /// <summary>The same of two ranges beside each other.</summary>
    public static IEnumerable<string> Currencies(MemberNumbers numbers, MemberNumbers? other) =>
        Currencies(numbers).Concat(other is null ? [] : Currencies(other)).Distinct(StringComparer.Ordinal);

    /// <summary>One currency's income of <see cref="Months"/>, a year to a row, all rows to one scale, the newest whole; null: of none is it known, or, with no others, of the present month alone, which has its sentence.</summary>
    /// <param name="numbers">These months.</param>
    /// <param name="currency">Which.</param>
    /// <param name="other">In whose scale too; null: there are no others.</param>
    public static IReadOnlyList<Columns>? Income(MemberNumbers numbers, string currency, MemberNumbers? other = null)
    {
        var months = Months(numbers);
        if (months is [] || (other is null && months is [{ IsOver: false }]))
            return null;
        var highest = months.Concat(other is null ? [] : Months(other)).Max(Minor);
        var isOneRow = months.Count <= InARow;
        return
        [
            .. RowsOf(months).Select(row => new Columns(T($"Income a month in {currency}"),
                [.. row.Select((m, i) => new Column(isOneRow ? m.Month.ToString("MMM", Say.Culture) : NameOf(row, i), m.Month.ToString("MMM", Say.Culture)[..1], Minor(m), Money.Short(Minor(m), currency)))],
                highest, Math.Min(months.Count, InARow))),
        ];

        long Minor(MembersMonth month) => month.Income.FirstOrDefault(i => i.Currency == currency)?.Minor ?? 0;
    }

    /// <summary>What does not fill a year comes first.</summary>
    internal static IEnumerable<MembersMonth[]> RowsOf(IReadOnlyList<MembersMonth> months)
    {
        var first = months.Count % InARow;
        return (first == 0 ? Array.Empty<MembersMonth[]>() : [months.Take(first).ToArray()]).Concat(months.Skip(first).Chunk(InARow));
    }

    /// <summary>Of a month of a row: with its year where one begins, and in the first place unless that comes right after it.</summary>
    internal static string NameOf(IReadOnlyList<MembersMonth> row, int place) =>
        row[place].Month.ToString((place == 0 && row.Skip(1).Take(2).All(n => n.Month.Month != 1)) || row[place].Month.Month == 1 ? T("MMM ''yy") : "MMM", Say.Culture);

    /// <summary>The same as a table: each month of the first year that has a column, and each later one with anybody.</summary>
    public static IEnumerable<LeftAfterLine> LeavingRows(MemberNumbers numbers) =>
        Enumerable.Range(0, Math.Min(12, numbers.LeftAfter.Max(l => l.Months) + 1)).Select(n => numbers.LeftAfter.FirstOrDefault(l => l.Months == n) ?? new(n, 0))
            .Concat(numbers.LeftAfter.Where(l => l.Months >= 12));

    /// <summary>Months until leaving, a column each up to a year, then a column a year.</summary>
    /// <param name="numbers">These months, in which anybody left.</param>
    /// <param name="other">With as many columns, and in whose scale too; null: there are no others.</param>
    public static Columns Leaving(MemberNumbers numbers, MemberNumbers? other = null)
    {
        var last = numbers.LeftAfter.Concat(other?.LeftAfter ?? []).Max(l => l.Months);
        List<(int From, int To, string Label)> spans = [.. Enumerable.Range(0, Math.Min(12, last + 1)).Select(n => (n, n, n.ToString(Say.Culture))), .. Enumerable.Range(1, last / 12).Select(y => (12 * y, (12 * y) + 11, $"{12 * y}+"))];
        return new(T("People by whole months until they left"), spans.ConvertAll(s => new Column(s.Label, s.Label, People(numbers, s.From, s.To), People(numbers, s.From, s.To).ToString(Say.Culture))),
            other is null ? 0 : spans.Max(s => People(other, s.From, s.To)));

        static int People(MemberNumbers of, int from, int to) => of.LeftAfter.Where(l => l.Months >= from && l.Months <= to).Sum(l => l.People);
    }
}
