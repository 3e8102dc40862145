using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>Days of the shop's calendar, both ends included.</summary>
public sealed record DayRange(LocalDate First, LocalDate Last)
{
    /// <summary>Ten years: more has no shelf, and a page has an end.</summary>
    public const int MostDays = 3660;

    public int Days => Period.DaysBetween(First, Last) + 1;

    /// <summary>
    /// What somebody wrote, as near as it can be taken: "2026-11-25", an end before the start is exchanged with it, days to come are left out, and of more
    /// than <see cref="MostDays"/> the newest are taken. What is not written or no day: the end is today, the start <paramref name="usual"/> days with it.
    /// </summary>
    public static DayRange Read(string? from, string? to, LocalDate today, int usual)
    {
        var last = Min(DayOf(to) ?? today, today);
        var first = Min(DayOf(from) ?? last.PlusDays(1 - usual), today);
        if (first > last)
            (first, last) = (last, first);
        return Period.DaysBetween(first, last) < MostDays ? new(first, last) : new(last.PlusDays(1 - MostDays), last);
    }

    /// <summary>As many days, from another one on, as far as they are over; of days to come the first alone. Null: not written.</summary>
    public DayRange? ReadAgainst(string? from, LocalDate today) =>
        DayOf(from) is not { } first ? null : first > today ? new(first, first) : new(first, Min(first.PlusDays(Days - 1), today));

    /// <summary>The first of days that somebody wrote and of which none has come yet, so that others are shown; null: some have, or none were written.</summary>
    public static LocalDate? ToCome(string? from, string? to, LocalDate today) =>
        (DayOf(from), DayOf(to)) is ({ } first, var last) && first > today && !(last <= today) ? first : null;

    private static LocalDate? DayOf(string? text) =>
        text is not null && LocalDatePattern.Iso.Parse(text) is { Success: true, Value: { Year: >= 2000 and <= 9000 } day } ? day : null;

    private static LocalDate Min(LocalDate a, LocalDate b) => a < b ? a : b;
}
