using LibraryShelf.Core.Drops;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>Days, months and places of drops, as people say them.</summary>
internal static class DropWords
{
    private static LocalDateTimePattern ThisYear => LocalDateTimePattern.Create(T("dddd d MMMM, H:mm"), Say.Culture);
    private static LocalDateTimePattern AnyYear => LocalDateTimePattern.Create(T("dddd d MMMM uuuu, H:mm"), Say.Culture);
    private static LocalTimePattern OfDay => LocalTimePattern.Create(T("H:mm"), Say.Culture);

    /// <summary>Every day that can be chosen for all months, with its words, in groups.</summary>
    public static IReadOnlyList<(string Group, IReadOnlyList<(string Value, string Words)> Days)> Days =>
    [
        (T("By number"), [.. Enumerable.Range(1, 31).Select(n => new DropDay.Numbered(n)).Select(Option), Option(new DropDay.Last())]),
        (T("By weekday"), [.. new[] { 1, 2, 3, 4, 5, 0 }.SelectMany(which => Enum.GetValues<IsoDayOfWeek>().Where(d => d != IsoDayOfWeek.None).Select(d => Option(new DropDay.Weekday(which, d))))]),
    ];

    /// <summary>"December 2026".</summary>
    public static string Month(YearMonth month) => DropWhen.Name(month);

    /// <summary>For addresses: "2026-12".</summary>
    public static string Machine(YearMonth month) => YearMonthPattern.Iso.Format(month);

    /// <summary>What <see cref="Machine(YearMonth)"/> wrote; null: no month.</summary>
    public static YearMonth? Read(string? text) => YearMonthPattern.Iso.Parse(text ?? "").TryGetValue(default, out var month) ? month : null;

    /// <summary>"the 1st", "the last day", "the first Friday", "10 January 2027".</summary>
    public static string Day(DropDay day) => day switch
    {
        DropDay.Numbered numbered => T($"the {Ordinal(numbered.Number)}"),
        DropDay.Last => T("the last day"),
        DropDay.Weekday weekday => Weekday(weekday.Which, Say.Culture.DateTimeFormat.GetDayName((DayOfWeek)((int)weekday.Day % 7))),
        DropDay.Dated dated => Dates.Day(dated.Date),
        _ => throw new InvalidOperationException(day.ToString()),
    };

    /// <summary>"Tuesday 1 December, 9:00, Lisbon time"; with the year where that is not the year of <paramref name="now"/>.</summary>
    public static string When(DateTimeOffset instant, DateTimeZone zone, DateTimeOffset now)
    {
        var at = instant.ToInstant().InZone(zone).LocalDateTime;
        return $"{(at.Year == now.ToInstant().InZone(zone).Year ? ThisYear : AnyYear).Format(at)}, {Place(zone)}";
    }

    /// <summary>"9:05".</summary>
    public static string Time(DateTimeOffset instant, DateTimeZone zone) => OfDay.Format(instant.ToInstant().InZone(zone).TimeOfDay);

    /// <summary>"in 5 minutes", "in a minute"; begun ones count.</summary>
    public static string Soon(DateTimeOffset now, DateTimeOffset then) => Math.Ceiling((then - now).TotalMinutes) is var minutes && minutes > 1 ? T($"in {(int)minutes} minutes") : T("in a minute");

    /// <summary>"5 days left", "1 day left", "today"; null once it is past.</summary>
    public static string? Left(DateTimeOffset now, DateTimeOffset due, DateTimeZone zone) => DropWhen.DaysTo(now, due, zone) switch
    {
        _ when due < now => null,
        0 => T("today"),
        var days => T($"{Plural.Of(days, "day")} left"),
    };

    /// <summary>"Lisbon time", "UTC".</summary>
    public static string Place(DateTimeZone zone) => zone.Id.Split('/') switch
    {
        [_, .., var city] when !zone.Id.StartsWith("Etc/", StringComparison.Ordinal) => T($"{city.Replace('_', ' ')} time"),
        [.., var name] => name,
        [] => "UTC",
    };

    private static (string Value, string Words) Option(DropDay day) => (day.ToString()!, Day(day));

    private static string Weekday(int which, string day) => which switch
    {
        0 => T($"the last {day}"),
        1 => T($"the first {day}"),
        2 => T($"the second {day}"),
        3 => T($"the third {day}"),
        4 => T($"the fourth {day}"),
        _ => T($"the fifth {day}"),
    };

    /// <summary>"1st", "22nd"; <paramref name="number"/> is a day of a month.</summary>
    public static string Ordinal(int number) => number switch
    {
        1 or 21 or 31 => T($"{number}st"),
        2 or 22 => T($"{number}nd"),
        3 or 23 => T($"{number}rd"),
        _ => T($"{number}th"),
    };
}
