using System.Globalization;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Which of the copies among the backups are read again, a part each day, so that each is within <see cref="Days"/> days: a disk tells of nothing that it loses
/// by itself.
/// </summary>
internal static class PoolPart
{
    public const int Days = 30;

    /// <summary>Of which day's part a blob is: by its hash, so evenly.</summary>
    public static int Of(string sha256) => int.Parse(sha256.AsSpan(0, 6), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture) % Days;

    /// <summary>The parts of all days after that of the last whole backup, up to today's; none when that is of today. Null: there was none.</summary>
    public static IReadOnlySet<int> Since(DateTimeOffset? last, DateTimeOffset now)
    {
        var today = DayOf(now);
        var days = last is { } at ? Math.Clamp(today - DayOf(at), 0, Days) : Days;
        return Enumerable.Range(0, days).Select(back => (today - back) % Days).ToHashSet();
    }

    private static int DayOf(DateTimeOffset at) => (int)(at.ToUnixTimeSeconds() / 86_400);
}
