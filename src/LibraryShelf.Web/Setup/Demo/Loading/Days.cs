using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Turns "so many days ago" into an instant of that day, between nine and six in UTC and always the same one.</summary>
internal sealed class Days(DateTimeOffset now)
{
    public DateTimeOffset Ago(int days) =>
        new DateTimeOffset(now.UtcDateTime.Date, TimeSpan.Zero).AddDays(-days).AddMinutes(540 + (int)(540 * SplitMix.For($"day {days}").Unit()));
}
