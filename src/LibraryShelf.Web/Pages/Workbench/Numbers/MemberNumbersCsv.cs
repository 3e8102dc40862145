using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The same figures as files, RFC 4180: what is not known is empty.</summary>
internal static class MemberNumbersCsv
{
    /// <summary>One line a month; what it brings in has a column for each currency, in its smallest unit.</summary>
    public static string Months(MemberNumbers numbers)
    {
        List<string> currencies = [.. numbers.Months.SelectMany(m => m.Income.Select(i => i.Currency)).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
        return Lines(
            ["month,is_over,at_start,at_start_given,joined,joined_given,returned,left,left_given,churn,failed_renewals,recovered_renewals", .. currencies.Select(c => $"income_{c}_minor")],
            numbers.Months.Select(m => new object?[]
            {
                MemberNumbersWords.Iso(m.Month), m.IsOver ? "yes" : "no", m.AtStart, m.GivenAtStart, m.Joined, m.JoinedGiven, m.Returned, m.Left, m.LeftGiven,
                m.Churn?.ToString("0.####", CultureInfo.InvariantCulture), m.Failed, m.Recovered,
            }.Concat(currencies.Select(c => (object?)m.Income.FirstOrDefault(i => i.Currency == c)?.Minor))));
    }

    /// <summary>One line a cell of the triangle.</summary>
    public static string Stays(MemberNumbers numbers) => Lines(
        ["joined_in,months_later,joined,members"],
        numbers.Stays.SelectMany(r => r.Members.Select((members, n) => new object?[] { MemberNumbersWords.Iso(r.Month), n, r.Joined, members })));

    public static string Free(MemberNumbers numbers) => Lines(
        ["first_free_download_in,people,joined_within_7_days,7_days_are_over,joined_within_30_days,30_days_are_over,joined_within_90_days,90_days_are_over"],
        numbers.Free.Select(r => new object?[] { MemberNumbersWords.Iso(r.Month), r.People }.Concat(r.Joined.Zip(r.AreOver, (joined, isOver) => new object?[] { joined, isOver ? "yes" : "no" }).SelectMany(c => c))));

    public static string LeftAfter(MemberNumbers numbers) => Lines(["months,people"], numbers.LeftAfter.Select(l => new object?[] { l.Months, l.People }));

    public static string Drops(DropNumbers numbers) => Lines(
        ["month,libraries,sent_at,holders,within_1_day,1_day_is_over,within_7_days,7_days_are_over,within_30_days,30_days_are_over,by_now,usually_in_100_within_1_day,usually_in_100_within_7_days,usually_in_100_within_30_days"],
        numbers.Lines.Select(l => new object?[] { MemberNumbersWords.Iso(l.Month), Words.Csv.Text(string.Join("; ", l.Titles)), l.SentAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture), l.Holders }
            .Concat(l.After.Zip(l.AreOver, (after, isOver) => new object?[] { after, isOver ? "yes" : "no" }).SelectMany(c => c)).Append(l.ByNow).Concat(l.After.Select((_, i) => (object?)numbers.UsuallyBefore(l, i)))));

    private static string Lines(IEnumerable<string> head, IEnumerable<IEnumerable<object?>> rows)
    {
        var text = new StringBuilder().AppendJoin(',', head).Append("\r\n");
        foreach (var row in rows)
            text.AppendJoin(',', row.Select(v => Convert.ToString(v, CultureInfo.InvariantCulture))).Append("\r\n");
        return text.ToString();
    }
}
