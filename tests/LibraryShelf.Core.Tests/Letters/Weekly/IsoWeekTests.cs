using LibraryShelf.Core.Letters.Weekly;
using NodaTime;

namespace LibraryShelf.Core.Tests.Letters.Weekly;

public sealed class IsoWeekTests
{
    /// <summary>Against GNU date: date -d 2027-01-01 +%G-W%V, and what .NET's own ISOWeek says.</summary>
    [Theory]
    [InlineData("2026-01-01", "2026-W01")]
    [InlineData("2026-11-25", "2026-W48")]
    [InlineData("2026-12-27", "2026-W52")]
    [InlineData("2026-12-28", "2026-W53")]
    [InlineData("2027-01-01", "2026-W53")]
    [InlineData("2027-01-03", "2026-W53")]
    [InlineData("2027-01-04", "2027-W01")]
    [InlineData("2024-12-30", "2025-W01")]
    [InlineData("2021-01-03", "2020-W53")]
    public void A_week_is_named_by_ISO_8601_over_the_turn_of_the_year(string day, string name)
    {
        var date = DateTime.Parse(day, System.Globalization.CultureInfo.InvariantCulture);
        Assert.Equal(name, $"{System.Globalization.ISOWeek.GetYear(date)}-W{System.Globalization.ISOWeek.GetWeekOfYear(date):00}");
        var week = IsoWeek.Of(LocalDate.FromDateTime(date));
        Assert.Equal(name, week.Name);
        Assert.Equal((IsoDayOfWeek.Monday, IsoDayOfWeek.Sunday, 7), (week.Days.First.DayOfWeek, week.Days.Last.DayOfWeek, week.Days.Days));
    }

    /// <summary>Against tzdata, by GNU date: TZ=Europe/Lisbon date -d '2026-03-30 08:00' -u.</summary>
    [Theory]
    [InlineData("Europe/Lisbon", "2026-03-25", "2026-03-30T07:00:00Z")] // summer time began the day before
    [InlineData("Europe/Lisbon", "2026-10-20", "2026-10-26T08:00:00Z")] // and ended the day before
    [InlineData("America/New_York", "2026-11-25", "2026-11-30T13:00:00Z")]
    [InlineData("Pacific/Auckland", "2026-12-31", "2027-01-03T19:00:00Z")]
    public void It_is_told_of_at_eight_on_the_wall(string zone, string day, string due)
    {
        var week = IsoWeek.Of(NodaTime.Text.LocalDatePattern.Iso.Parse(day).Value);
        Assert.Equal(due, week.DueAt(DateTimeZoneProviders.Tzdb[zone]).ToString());
    }
}
