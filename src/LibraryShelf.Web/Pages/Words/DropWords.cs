using System.Globalization;
using LibraryShelf.Core.Drops;
using NodaTime;
using NodaTime.Extensions;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>Days, months and places of drops, as people say them.</summary>
internal static class DropWords
{
    private static readonly string[] Which = ["last", "first", "second", "third", "fourth", "fifth"];
    private static readonly LocalDateTimePattern ThisYear = LocalDateTimePattern.CreateWithInvariantCulture(T("dddd d MMMM, H:mm"));
    private static readonly LocalDateTimePattern AnyYear = LocalDateTimePattern.CreateWithInvariantCulture(T("dddd d MMMM uuuu, H:mm"));

    private static readonly LocalTimePattern OfDay = LocalTimePattern.CreateWithInvariantCulture("H:mm");

    /// <summary>Every day that can be chosen for all months, with its words, in groups.</summary>
    public static IReadOnlyList<(string Group, IReadOnlyList<(string Value, string Words)> Days)> Days { get; } =
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
        DropDay.Numbered numbered => $"the {Ordinal(numbered.Number)}",
        DropDay.Last => T("the last day"),
        DropDay.Weekday weekday => T($"the {Which[weekday.Which]} {weekday.Day}"),
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
        0 => "today",
        var days => $"{Plural.Of(days, "day")} left",
    };

    /// <summary>"Lisbon time", "UTC".</summary>
    public static string Place(DateTimeZone zone) => zone.Id.Split('/') switch
    {
        [_, .., var city] when !zone.Id.StartsWith("Etc/", StringComparison.Ordinal) => $"{city.Replace('_', ' ')} time",
        [.., var name] => name,
        [] => "UTC",
    };

    private static (string Value, string Words) Option(DropDay day) => (day.ToString()!, Day(day));

    private static string Ordinal(int number) => number.ToString(CultureInfo.InvariantCulture) + (number is 1 or 21 or 31 ? "st" : number is 2 or 22 ? "nd" : number is 3 or 23 ? "rd" : "th");
}
