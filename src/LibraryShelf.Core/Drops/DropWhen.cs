using LibraryShelf.Core.Shared;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Drops;

/// <summary>A month in words, and why a day won't do.</summary>
public static class DropWhen
{
    /// <summary>How long a month that never had a drop can still get one, or be said to slip.</summary>
    internal const int MonthsBack = 12;

    internal static string PastWords => T("That day and time are past. Choose later ones, or tick “Send it at once”.");

    /// <summary>"December 2026".</summary>
    public static string Name(YearMonth month) => DayWords.Month(month);

    /// <summary>The month in which an instant falls on the wall of a zone.</summary>
    public static YearMonth MonthAt(DateTimeOffset instant, DateTimeZone zone) => instant.ToInstant().InZone(zone).Date.ToYearMonth();

    /// <summary>Midnights in the zone from now to then; 0: it is today. Below 0: it was.</summary>
    public static int DaysTo(DateTimeOffset now, DateTimeOffset then, DateTimeZone zone) =>
        Period.DaysBetween(now.ToInstant().InZone(zone).Date, then.ToInstant().InZone(zone).Date);
}
