using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>The shop's months and days as instants in Unix milliseconds, worked out once: a shelf of many members asks for each a hundred thousand times.</summary>
internal sealed class ShopCalendar
{
    /// <summary>Nobody was a member of anything here before; a list brought from elsewhere may say so all the same.</summary>
    private static readonly YearMonth Earliest = new(1970, 1);

    private readonly long[] monthStarts;
    private readonly long[] dayStarts;
    private readonly int[] firstDays;
    private readonly DateTimeZone zone;

    /// <param name="zone">The shop's.</param>
    /// <param name="first">An instant of the first month; earlier ones count to it.</param>
    /// <param name="now">An instant of the last month.</param>
    public ShopCalendar(DateTimeZone zone, DateTimeOffset first, DateTimeOffset now)
    {
        this.zone = zone;
        var (from, last) = (MonthOf(first), MonthOf(now));
        First = from < Earliest ? Earliest : from > last ? last : from;
        Count = MonthsBetween(First, last) + 1;
        firstDays = new int[Count + 1];
        monthStarts = new long[Count + 1];
        var day = First.OnDayOfMonth(1);
        dayStarts = new long[Period.DaysBetween(day, last.PlusMonths(1).OnDayOfMonth(1)) + 1];
        for (var (i, month) = (0, 0); i < dayStarts.Length; i++, day = day.PlusDays(1))
        {
            dayStarts[i] = zone.AtStartOfDay(day).ToInstant().ToUnixTimeMilliseconds();
            if (day.Day == 1)
                (firstDays[month], monthStarts[month++]) = (i, dayStarts[i]);
        }
    }

    public YearMonth First { get; }

    /// <summary>Months up to and with the present one.</summary>
    public int Count { get; }

    public YearMonth Month(int index) => First.PlusMonths(index);

    /// <summary>The month's first instant; of <see cref="Count"/> the one after the last month.</summary>
    public long Start(int index) => monthStarts[index];

    /// <summary>Of an instant; before the first month: the first.</summary>
    public int IndexOf(long at)
    {
        var found = Array.BinarySearch(monthStarts, at);
        return Math.Max(0, found >= 0 ? found : ~found - 1);
    }

    public int IndexOf(YearMonth month) => MonthsBetween(First, month);

    /// <summary>The day of the month, from 1.</summary>
    public int DayOfMonth(long at)
    {
        var found = Array.BinarySearch(dayStarts, at);
        return (found >= 0 ? found : Math.Max(0, ~found - 1)) - firstDays[IndexOf(at)] + 1;
    }

    /// <summary>Days.</summary>
    public int LengthOf(int month) => firstDays[month + 1] - firstDays[month];

    /// <summary>The first instant after a day of a month; the last day of one that is too short for it.</summary>
    public long EndOfDay(int month, int day) => dayStarts[Math.Min(firstDays[month] + day, firstDays[month + 1])];

    public YearMonth MonthOf(DateTimeOffset at) => at.ToInstant().InZone(zone).Date.ToYearMonth();

    public static int MonthsBetween(YearMonth from, YearMonth to) => ((to.Year - from.Year) * 12) + to.Month - from.Month;
}
