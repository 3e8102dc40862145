namespace LibraryShelf.Core.Membership;

/// <summary>How somebody the shelf knows stands, each in one. Worked out, never stored. Who pays and was given a membership besides stands under what they pay.</summary>
public enum MemberState
{
    /// <summary>Pays, and it goes on.</summary>
    Paying,
    Grace,
    Leaving,
    Paused,
    /// <summary>Given by the maker's hand alone.</summary>
    ByHand,
    /// <summary>Was a member.</summary>
    Left,
    /// <summary>Never was.</summary>
    NoMember,
}

/// <summary>A time somebody is a member.</summary>
/// <param name="Until">Exclusive; null: no end is set.</param>
public sealed record MemberTime(DateTimeOffset From, DateTimeOffset? Until);

/// <summary>Memberships that touch or overlap are one stretch to who looks: pure.</summary>
public static class MemberStretch
{
    /// <returns>The stretch that holds at <paramref name="now"/>; else the last that was; else the first that comes; null: none.</returns>
    public static MemberTime? At(IEnumerable<MemberTime> times, DateTimeOffset now)
    {
        MemberTime? found = null, running = null;
        foreach (var time in times.Where(t => t.Until is null || t.From < t.Until).OrderBy(t => t.From))
        {
            running = running is { } before && (before.Until is null || time.From <= before.Until)
                ? before with { Until = Later(before.Until, time.Until) }
                : time;
            if (found is null || running.From <= now)
                found = running;
        }
        return found;
    }

    private static DateTimeOffset? Later(DateTimeOffset? one, DateTimeOffset? other) => one is null || other is null ? null : one > other ? one : other;
}
