using System.Globalization;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// On which day the drop of a month goes out, by the wall calendar. Every month has one: a number the month is too short for is its last day, and a fifth
/// Friday it has not is its last (RFC 5545 §3.3.10 would leave such a month out; a month that was paid for is not left out).
/// </summary>
public abstract record DropDay
{
    private DropDay() { }

    /// <summary>"the 1st", "the 31st": 1 to 31.</summary>
    public sealed record Numbered(int Number) : DropDay
    {
        public override LocalDate In(YearMonth month) => month.OnDayOfMonth(Math.Min(Number, LengthOf(month)));

        public override string ToString() => Number.ToString(CultureInfo.InvariantCulture);
    }

    /// <summary>The month's last day.</summary>
    public sealed record Last : DropDay
    {
        public override LocalDate In(YearMonth month) => month.OnDayOfMonth(LengthOf(month));

        public override string ToString() => "last";
    }

    /// <summary>"the first Friday": which one, 1 to 5; 0: the last.</summary>
    public sealed record Weekday(int Which, IsoDayOfWeek Day) : DropDay
    {
        public override LocalDate In(YearMonth month)
        {
            var first = month.OnDayOfMonth(1);
            first = first.PlusDays(((int)Day - (int)first.DayOfWeek + 7) % 7);
            var day = first.PlusWeeks((Which == 0 ? 5 : Which) - 1);
            return day.Month == month.Month ? day : first.PlusWeeks(first.PlusWeeks(4).Month == month.Month ? 4 : 3);
        }

        public override string ToString() => $"{(Which == 0 ? "last" : Which.ToString(CultureInfo.InvariantCulture))} {Day.ToString().ToLowerInvariant()}";
    }

    /// <summary>This very date, whatever the month: a drop that comes late.</summary>
    public sealed record Dated(LocalDate Date) : DropDay
    {
        public override LocalDate In(YearMonth month) => Date;

        public override string ToString() => LocalDatePattern.Iso.Format(Date);
    }

    /// <summary>The day on which the drop of this month goes out.</summary>
    public abstract LocalDate In(YearMonth month);

    /// <summary>Reads what <see cref="object.ToString"/> wrote: "1", "31", "last", "1 friday", "last friday", "2027-01-10". Null: none of these.</summary>
    public static DropDay? Read(string? text)
    {
        var words = (text ?? "").Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return words switch
        {
            ["last"] => new Last(),
            [var date] when LocalDatePattern.Iso.Parse(date).TryGetValue(default, out var day) => new Dated(day),
            [var number] when NumberIn(number, 31) is { } day => new Numbered(day),
            ["last", var name] when DayOf(name) is { } day => new Weekday(0, day),
            [var number, var name] when NumberIn(number, 5) is { } which && DayOf(name) is { } day => new Weekday(which, day),
            _ => null,
        };
    }

    private static int LengthOf(YearMonth month) => month.Calendar.GetDaysInMonth(month.Year, month.Month);

    private static int? NumberIn(string text, int most) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number) && number >= 1 && number <= most ? number : null;

    private static IsoDayOfWeek? DayOf(string name) =>
        Enum.TryParse<IsoDayOfWeek>(name, ignoreCase: true, out var day) && day != IsoDayOfWeek.None && !char.IsAsciiDigit(name[0]) ? day : null;
}

/// <summary>A time on the shop's wall, as an instant.</summary>
public static class WallClock
{
    private static readonly LocalTimePattern Minutes = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    /// <summary>
    /// A time that the clocks leap over counts as much later as they leap; of one that comes twice the first is meant (NodaTime,
    /// Resolvers.LenientResolver).
    /// </summary>
    public static DateTimeOffset At(LocalDate day, LocalTime time, DateTimeZone zone) => zone.AtLeniently(day + time).ToInstant().ToDateTimeOffset();

    /// <summary>"09:00". Null: no time.</summary>
    public static LocalTime? Read(string? text) => Minutes.Parse(text?.Trim() ?? "").TryGetValue(default, out var time) ? time : null;
}
