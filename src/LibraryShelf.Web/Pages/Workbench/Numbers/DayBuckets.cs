using System.Globalization;
using LibraryShelf.Core.Statistics;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// Days as a picture of a page's width can show them: each by itself up to a quarter, weeks from Monday up to two years, then calendar months. The first and
/// the last may be shorter.
/// </summary>
internal sealed record DayBuckets(string Unit, IReadOnlyList<DayFigures> Bars)
{
    private const int MostDays = 92, MostWeekDays = 735;
    private static readonly LocalDatePattern ShortDay = LocalDatePattern.CreateWithInvariantCulture("d MMM"), LongDay = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu"),
        ShortMonth = LocalDatePattern.CreateWithInvariantCulture(T("MMM uuuu")), LongMonth = LocalDatePattern.CreateWithInvariantCulture(T("MMMM uuuu"));

    public static DayBuckets Of(IReadOnlyList<DayFigures> days) => days.Count switch
    {
        <= MostDays => new("day", days),
        <= MostWeekDays => new("week", By(days, d => d.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday)))),
        _ => new("month", By(days, d => d.With(DateAdjusters.StartOfMonth))),
    };

    /// <summary>For beside a bar: "1 Nov", "week of 2 Nov", "Nov 2026".</summary>
    public string Short(DayFigures bar) => Unit switch { "day" => ShortDay.Format(bar.Day), "week" => "week of " + ShortDay.Format(bar.Day), _ => ShortMonth.Format(bar.Day) };

    /// <summary>For a table's row.</summary>
    public string Long(DayFigures bar) => Unit switch { "day" => LongDay.Format(bar.Day), "week" => "week of " + LongDay.Format(bar.Day), _ => LongMonth.Format(bar.Day) };

    /// <summary>"Day", "Week", "Month".</summary>
    public string Head => CultureInfo.InvariantCulture.TextInfo.ToTitleCase(Unit);

    private static List<DayFigures> By(IReadOnlyList<DayFigures> days, Func<LocalDate, LocalDate> first) =>
        [.. days.GroupBy(d => first(d.Day)).Select(g => new DayFigures(g.Key, g.Sum(d => d.Started), g.Sum(d => d.Finished)))];
}
