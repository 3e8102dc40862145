using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// Days as a picture of a page's width can show them: each by itself up to a quarter, weeks from Monday up to two years, then calendar months. The first and
/// the last may be shorter.
/// </summary>
/// <param name="Unit">"day", "week" or "month", whatever the language.</param>
/// <param name="Bars">Oldest first.</param>
/// <param name="First">Of the days: the first week or month may begin before it.</param>
/// <param name="Came">What came out in these days and on the day before them, which names the first of single days.</param>
internal sealed record DayBuckets(string Unit, IReadOnlyList<DayFigures> Bars, LocalDate First, IReadOnlyList<CameOut> Came)
{
    private const int MostDays = 92, MostWeekDays = 735;

    public static DayBuckets Of(IReadOnlyList<DayFigures> days, IReadOnlyList<CameOut>? came = null) => days.Count switch
    {
        <= MostDays => new("day", days, days[0].Day, came ?? []),
        <= MostWeekDays => new("week", By(days, d => d.With(DateAdjusters.PreviousOrSame(IsoDayOfWeek.Monday))), days[0].Day, came ?? []),
        _ => new("month", By(days, d => d.With(DateAdjusters.StartOfMonth)), days[0].Day, came ?? []),
    };

    /// <summary>What came out in a bar.</summary>
    public IReadOnlyList<CameOut> CameIn(int bar) => [.. Came.Where(c => c.Day >= LocalDate.Max(First, Bars[bar].Day) && (bar == Bars.Count - 1 || c.Day < Bars[bar + 1].Day))];

    /// <summary>Anything came out in any of them: a table has a column for it.</summary>
    public bool HasCame => Came.Any(c => c.Day >= First);

    /// <summary>What stands at a bar that is a peak.</summary>
    public PeakName NameOf(int bar) => PeakName.Of(Short(Bars[bar]), Bars[bar].Finished.ToString(Say.Culture), Unit == "day", CameIn(bar), [.. Came.Where(c => c.Day == Bars[bar].Day.PlusDays(-1))]);

    /// <summary>For beside a bar: "1 Nov", "week of 2 Nov", "Nov 2026".</summary>
    public string Short(DayFigures bar) => Unit switch
    {
        "day" => ShortDay(bar.Day),
        "week" => T($"week of {ShortDay(bar.Day)}"),
        _ => bar.Day.ToString(T("MMM uuuu"), Say.Culture),
    };

    /// <summary>For a table's row.</summary>
    public string Long(DayFigures bar) => Unit switch
    {
        "day" => Dates.Day(bar.Day),
        "week" => T($"week of {Dates.Day(bar.Day)}"),
        _ => bar.Day.ToString(T("MMMM uuuu"), Say.Culture),
    };

    /// <summary>"Day", "Week", "Month".</summary>
    public string Head => Unit switch { "day" => T("Day"), "week" => T("Week"), _ => T("Month") };

    /// <summary>Over the picture.</summary>
    public string Title => Unit switch { "day" => T("Finished downloads a day"), "week" => T("Finished downloads a week"), _ => T("Finished downloads a month") };

    /// <summary>What the picture is: "A bar a day from 1 Nov to 30 Nov."</summary>
    public string Bar(string first, string last) => Unit switch
    {
        "day" => T($"A bar a day from {first} to {last}."),
        "week" => T($"A bar a week from {first} to {last}."),
        _ => T($"A bar a month from {first} to {last}."),
    };

    private static string ShortDay(LocalDate day) => day.ToString(T("d MMM"), Say.Culture);

    private static List<DayFigures> By(IReadOnlyList<DayFigures> days, Func<LocalDate, LocalDate> first) =>
        [.. days.GroupBy(d => first(d.Day)).Select(g => new DayFigures(g.Key, g.Sum(d => d.Started), g.Sum(d => d.Finished)))];
}
