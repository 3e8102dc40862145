using NodaTime;

namespace LibraryShelf.Core.Shared;

/// <summary>Days and months as mails and sentences name them. The patterns are texts: languages put a day's parts in another order.</summary>
public static class DayWords
{
    /// <summary>"14 October 2025".</summary>
    public static string Day(LocalDate day) => day.ToString(T("d MMMM uuuu"), Say.Culture);

    /// <summary>"14 October 2025", by the wall of a zone.</summary>
    public static string Day(DateTimeOffset instant, DateTimeZone zone) => Day(Instant.FromDateTimeOffset(instant).InZone(zone).Date);

    /// <summary>"Tuesday 14 October 2025".</summary>
    public static string Weekday(LocalDate day) => day.ToString(T("dddd d MMMM uuuu"), Say.Culture);

    /// <summary>"October 2025".</summary>
    public static string Month(YearMonth month) => month.ToString(T("MMMM uuuu"), Say.Culture);
}
