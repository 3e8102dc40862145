namespace LibraryShelf.Core.Payments;

/// <summary>How long payments of somebody deleted are kept: whole years after the end of the year of the last one, as tax law counts.</summary>
internal static class KeptPayments
{
    /// <summary>The first instant at which they go. Years are those of UTC; with none of them, it is <paramref name="now"/>.</summary>
    public static DateTimeOffset Until(DateTimeOffset lastPaid, int years, DateTimeOffset now) =>
        years == 0 ? now : new DateTimeOffset(lastPaid.UtcDateTime.Year + 1 + years, 1, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>Payments from this instant on are still kept at <paramref name="now"/>.</summary>
    public static DateTimeOffset KeptSince(DateTimeOffset now, int years) =>
        years == 0 ? now : new DateTimeOffset(now.UtcDateTime.Year - years, 1, 1, 0, 0, 0, TimeSpan.Zero);
}
