using LibraryShelf.Core.Membership;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class MemberStretchTests
{
    /// <summary>Times as days of November 2026, "3-9"; no second figure: no end. Today is the 15th, 00:00.</summary>
    [Theory]
    [InlineData("", null)]
    [InlineData("3-9", "3-9")]
    [InlineData("3-9 9-20", "3-20")] // back to back is one stretch
    [InlineData("9-20 3-9", "3-20")]
    [InlineData("3-8 9-20", "9-20")] // a day between is a gap
    [InlineData("3-20 5-7", "3-20")]
    [InlineData("3-20 5-", "3-")]
    [InlineData("1-2 4-6 20-25", "4-6")] // none holds: the last that was
    [InlineData("3-15", "3-15")]
    [InlineData("15-16 3-15", "3-16")]
    [InlineData("20-25 18-19", "18-19")] // none was: the first to come
    [InlineData("3-3 20-25", "20-25")] // ended as it began
    [InlineData("1- 16-20", "1-")]
    public void The_stretch_that_holds_is_found(string times, string? expected)
    {
        var now = Day("15");
        var found = MemberStretch.At(times.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(Time), now);
        Assert.Equal(expected is null ? null : Time(expected), found);
    }

    private static MemberTime Time(string words) => words.Split('-') is [var from, var until] ? new(Day(from), until.Length == 0 ? null : Day(until)) : throw new ArgumentException(words, nameof(words));

    private static DateTimeOffset Day(string day) => new(2026, 11, int.Parse(day, System.Globalization.CultureInfo.InvariantCulture), 0, 0, 0, TimeSpan.Zero);
}
