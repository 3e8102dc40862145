using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class DatesTests
{
    private static readonly DateTimeZone Lisbon = DateTimeZoneProviders.Tzdb["Europe/Lisbon"];
    private static readonly DateTimeZone Auckland = DateTimeZoneProviders.Tzdb["Pacific/Auckland"];

    [Fact]
    public void A_day_is_the_shops_day()
    {
        // 23:30 UTC in summer is half past midnight in Lisbon (UTC+1 until the last Sunday of October, EU directive 2000/84/EC).
        var late = new DateTimeOffset(2025, 10, 13, 23, 30, 0, TimeSpan.Zero);
        Assert.Equal("14 October 2025", Dates.Day(late, Lisbon));
        Assert.Equal("13 October 2025", Dates.Day(late, DateTimeZone.Utc));
        Assert.Equal("14 Oct 2025", Dates.ShortDay(late, Lisbon));
        Assert.Equal("2025-10-14", Dates.Machine(late, Lisbon));
        Assert.Equal("14 October 2025 at 00:30", Dates.DayAndTime(late, Lisbon));
    }

    [Fact]
    public void The_offset_an_instant_came_with_does_not_matter()
    {
        var instant = new DateTimeOffset(2025, 12, 31, 12, 0, 0, TimeSpan.Zero);
        // Auckland keeps summer time (UTC+13) at the turn of the year.
        Assert.Equal("1 January 2026", Dates.Day(instant, Auckland));
        Assert.Equal("1 January 2026", Dates.Day(instant.ToOffset(TimeSpan.FromHours(-8)), Auckland));
    }
}
