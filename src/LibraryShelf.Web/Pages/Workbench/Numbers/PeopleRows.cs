using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>People a day as a table, newest first: each day, or of longer ranges the day with most of each week or month. People of several days are never added: some are the same.</summary>
internal sealed class PeopleRows
{
    public PeopleRows(IReadOnlyList<PeopleOfDay> people)
    {
        var buckets = DayBuckets.Of([.. people.Select(p => new DayFigures(p.Day, 0, 0))]);
        Unit = buckets.Unit;
        // A bucket's first day may lie before the first day there is.
        var next = 0;
        var rows = new List<Row>();
        foreach (var (bucket, end) in buckets.Bars.Zip(buckets.Bars.Skip(1).Select(b => (NodaTime.LocalDate?)b.Day).Append(null)))
        {
            var first = next;
            while (next < people.Count && (end is null || people[next].Day < end)) next++;
            rows.Add(new(buckets.Long(bucket), people.Skip(first).Take(next - first).MaxBy(p => p.People)!));
        }
        rows.Reverse();
        Rows = rows;
    }

    internal sealed record Row(string Name, PeopleOfDay Most);

    /// <summary>"day", "week" or "month".</summary>
    public string Unit { get; }

    public IReadOnlyList<Row> Rows { get; }
}
