using System.Globalization;
using LibraryShelf.Core.Drops;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Drops;

public sealed class DropDayTests
{
    /// <summary>RFC 5545 §3.8.5.3, "Monthly on the first Friday for 10 occurrences"; the last Sundays of "Every other month on the first and last Sunday".</summary>
    [Theory]
    [InlineData("1 friday", "1997-09-05 1997-10-03 1997-11-07 1997-12-05 1998-01-02 1998-02-06 1998-03-06 1998-04-03 1998-05-01 1998-06-05")]
    [InlineData("last sunday", "1997-09-28 1997-11-30 1998-01-25 1998-03-29 1998-05-31")]
    [InlineData("1 sunday", "1997-09-07 1997-11-02 1998-01-04 1998-03-01 1998-05-03")]
    // "Monthly on the first and last day of the month for 10 occurrences"
    [InlineData("last", "1997-09-30 1997-10-31 1997-11-30 1997-12-31 1998-01-31")]
    [InlineData("1", "1997-10-01 1997-11-01 1997-12-01 1998-01-01 1998-02-01")]
    // "Monthly on the 2nd and 15th of the month for 10 occurrences"
    [InlineData("15", "1997-09-15 1997-10-15 1997-11-15 1997-12-15 1998-01-15")]
    public void Examples_of_the_standard(string day, string dates)
    {
        foreach (var date in dates.Split(' ').Select(d => LocalDatePattern.Iso.Parse(d).Value))
            Assert.Equal(date, DropDay.Read(day)!.In(date.ToYearMonth()));
    }

    [Theory]
    [InlineData("31", "2026-02", "2026-02-28")]
    [InlineData("31", "2028-02", "2028-02-29")] // a leap year
    [InlineData("30", "2027-02", "2027-02-28")]
    [InlineData("31", "2026-04", "2026-04-30")]
    [InlineData("5 friday", "2026-12", "2026-12-25")] // December 2026 has four
    [InlineData("5 friday", "2027-01", "2027-01-29")] // January 2027 has five
    public void A_month_too_short_has_its_last(string day, string month, string date) =>
        Assert.Equal(LocalDatePattern.Iso.Parse(date).Value, DropDay.Read(day)!.In(YearMonthPattern.Iso.Parse(month).Value));

    /// <summary>Against the calendar walked day by day.</summary>
    [Fact]
    public void Each_weekday_of_twenty_years_is_as_the_calendar_counts_it()
    {
        for (var month = new YearMonth(2020, 1); month.Year < 2040; month = month.PlusMonths(1))
        {
            var days = Enumerable.Range(1, month.ToDateInterval().Length).Select(month.OnDayOfMonth).ToList();
            foreach (var weekday in Enum.GetValues<IsoDayOfWeek>().Where(d => d != IsoDayOfWeek.None))
            {
                var such = days.FindAll(d => d.DayOfWeek == weekday);
                for (var which = 0; which <= 5; which++)
                    Assert.Equal(which == 0 || which > such.Count ? such[^1] : such[which - 1], new DropDay.Weekday(which, weekday).In(month));
            }
        }
    }

    [Theory]
    [InlineData("1"), InlineData("31"), InlineData("last"), InlineData("1 friday"), InlineData("5 sunday"), InlineData("last monday")]
    public void Written_and_read_it_is_the_same(string text) => Assert.Equal(text, DropDay.Read(text)!.ToString());

    [Theory]
    [InlineData(""), InlineData("0"), InlineData("32"), InlineData("first"), InlineData("6 friday"), InlineData("1 5"), InlineData("1 none"), InlineData("-1"), InlineData("1 friday 2"), InlineData(null)]
    public void What_is_none_is_none(string? text) => Assert.Null(DropDay.Read(text));

    /// <summary>Python's zoneinfo with tzdata 2025b, by the rule of NodaTime's Resolvers.LenientResolver.</summary>
    [Theory]
    [InlineData("America/New_York", "2026-03-08T02:30", "2026-03-08T07:30Z")] // leapt over
    [InlineData("America/New_York", "2026-11-01T01:30", "2026-11-01T05:30Z")] // comes twice
    [InlineData("Europe/London", "2026-03-29T01:30", "2026-03-29T01:30Z")]
    [InlineData("Europe/London", "2026-10-25T01:30", "2026-10-25T00:30Z")]
    [InlineData("Australia/Lord_Howe", "2026-10-04T02:15", "2026-10-03T15:45Z")] // half an hour
    [InlineData("Australia/Lord_Howe", "2026-04-05T01:45", "2026-04-04T14:45Z")]
    [InlineData("Africa/Cairo", "2026-04-24T00:30", "2026-04-23T22:30Z")] // at midnight
    [InlineData("America/Santiago", "2026-09-06T00:30", "2026-09-06T04:30Z")]
    [InlineData("Pacific/Apia", "2011-12-30T09:00", "2011-12-30T19:00Z")] // a whole day
    [InlineData("Asia/Kathmandu", "2026-01-31T09:00", "2026-01-31T03:15Z")]
    public void Clocks_that_leap_and_clocks_that_go_back(string zone, string wall, string instant)
    {
        var local = LocalDateTimePattern.CreateWithInvariantCulture("uuuu-MM-dd'T'HH:mm").Parse(wall).Value;
        Assert.Equal(
            DateTimeOffset.Parse(instant, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal),
            WallClock.At(local.Date, local.TimeOfDay, DateTimeZoneProviders.Tzdb[zone]));
    }
}
