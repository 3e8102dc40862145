using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>Days as the shop's own calendar has them: an instant near midnight falls on the day of the shop's time zone.</summary>
internal static class Dates
{
    // Patterns are texts too: other languages have the day elsewhere.
    private static LocalDatePattern Long => LocalDatePattern.Create(T("d MMMM uuuu"), Say.Culture);
    private static LocalDatePattern ThisYear => LocalDatePattern.Create(T("d MMMM"), Say.Culture);
    private static LocalDatePattern Brief => LocalDatePattern.Create(T("d MMM uuuu"), Say.Culture);
    private static LocalDateTimePattern Exact => LocalDateTimePattern.Create(T("d MMMM uuuu 'at' HH:mm"), Say.Culture);

    /// <summary>"14 October 2025".</summary>
    public static string Day(DateTimeOffset instant, DateTimeZone zone) => Long.Format(At(instant, zone).Date);

    /// <summary>"14 October".</summary>
    public static string DayOfMonth(DateTimeOffset instant, DateTimeZone zone) => ThisYear.Format(At(instant, zone).Date);

    public static string Day(LocalDate day) => Long.Format(day);

    /// <summary>"14 Oct 2025", for tables.</summary>
    public static string ShortDay(DateTimeOffset instant, DateTimeZone zone) => Brief.Format(At(instant, zone).Date);

    /// <summary>"14 October 2025 at 21:10".</summary>
    public static string DayAndTime(DateTimeOffset instant, DateTimeZone zone) => Exact.Format(At(instant, zone));

    /// <summary>For the datetime attribute: "2025-10-14".</summary>
    public static string Machine(DateTimeOffset instant, DateTimeZone zone) => LocalDatePattern.Iso.Format(At(instant, zone).Date);

    private static LocalDateTime At(DateTimeOffset instant, DateTimeZone zone) =>
        Instant.FromDateTimeOffset(instant).InZone(zone).LocalDateTime;
}
