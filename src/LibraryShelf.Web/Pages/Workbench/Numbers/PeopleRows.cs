using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>People a day as a table, newest first: each day, or of longer ranges the day with most of each week or month. People of several days are never added: some are the same.</summary>
internal sealed class PeopleRows
{
    public PeopleRows(IReadOnlyList<PeopleOfDay> people, IReadOnlyList<CameOut> came)
    {
        var buckets = DayBuckets.Of([.. people.Select(p => new DayFigures(p.Day, 0, 0))], came);
        HasCame = buckets.HasCame;
        Unit = buckets.Unit;
        // A bucket's first day may lie before the first day there is.
        var next = 0;
        var rows = new List<Row>();
        foreach (var (bucket, end) in buckets.Bars.Zip(buckets.Bars.Skip(1).Select(b => (NodaTime.LocalDate?)b.Day).Append(null)))
        {
            var first = next;
            while (next < people.Count && (end is null || people[next].Day < end)) next++;
            rows.Add(new(buckets.Long(bucket), people.Skip(first).Take(next - first).MaxBy(p => p.People)!, PeakName.Table(buckets.CameIn(rows.Count))));
        }
        rows.Reverse();
        Rows = rows;
    }

    /// <param name="Came">What came out in it, in words.</param>
    internal sealed record Row(string Name, PeopleOfDay Most, string Came);

    public bool HasCame { get; }

    /// <summary>"day", "week" or "month", whatever the language.</summary>
    public string Unit { get; }

    /// <summary>A row is not its own day: which it was stands beside it.</summary>
    public bool HasDays => Unit != "day";

    public string Head => HasDays ? T("Most in a day of") : T("Day");

    /// <summary>What stands in a row; null: each day.</summary>
    public string? Rule => Unit switch
    {
        "day" => null,
        "week" => T("Of each week the day with most people; the file has every day."),
        _ => T("Of each month the day with most people; the file has every day."),
    };

    public IReadOnlyList<Row> Rows { get; }
}
