using System.Globalization;
using LibraryShelf.Core.Statistics;
using NodaTime;
using NodaTime.Calendars;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>A week from Monday to Sunday (ISO 8601-1:2019 §4.3.8: the first of a year is the one with its first Thursday).</summary>
internal sealed record IsoWeek(LocalDate Monday)
{
    /// <summary>On the wall, of the Monday after it.</summary>
    private static readonly LocalTime TellAt = new(8, 0);

    public static IsoWeek Of(LocalDate day) => new(day.PlusDays(1 - (int)day.DayOfWeek));

    public IsoWeek Before => new(Monday.PlusWeeks(-1));

    public DayRange Days => new(Monday, Monday.PlusDays(6));

    /// <summary>The four before it.</summary>
    public DayRange FourBefore => WeeksBefore(4);

    public DayRange WeeksBefore(int weeks) => new(Monday.PlusWeeks(-weeks), Monday.PlusDays(-1));

    /// <summary>How many of the four before it begin no earlier than a day.</summary>
    public int WeeksSince(LocalDate first) => Math.Clamp(Period.DaysBetween(first, Monday) / 7, 0, 4);

    /// <summary>"2026-W53".</summary>
    public string Name => string.Create(CultureInfo.InvariantCulture, $"{WeekYearRules.Iso.GetWeekYear(Monday):0000}-W{WeekYearRules.Iso.GetWeekOfWeekYear(Monday):00}");

    /// <summary>When its letter is due; where the clock skips that hour, as much later.</summary>
    public Instant DueAt(DateTimeZone zone) => zone.AtLeniently(Monday.PlusWeeks(1).At(TellAt)).ToInstant();
}
