namespace LibraryShelf.Core.Membership;

/// <summary>Until when a paid membership counts, and how it stands: pure.</summary>
public static class MembershipRule
{
    /// <summary>
    /// Paid through, and the days of grace beyond, unless it ends or rests there by itself. The grace also covers the hours in which a renewal
    /// is on its way. One that was ended at once ends at once.
    /// </summary>
    /// <returns>Exclusive. <see cref="PaidMembership.StartedAt"/> when nothing was ever paid.</returns>
    public static DateTimeOffset ActiveUntil(PaidMembership membership, int graceDays)
    {
        if (membership.PaidThrough is not { } paid)
            return membership.StartedAt;
        var until = membership.LeavesAt is not null || membership.IsPaused ? paid : paid.AddDays(graceDays);
        return membership.EndedAt is { } ended && ended < until ? ended : until;
    }

    public static MembershipStanding StandingAt(PaidMembership membership, DateTimeOffset now)
    {
        if (now >= membership.ActiveUntil)
            return MembershipStanding.Left;
        if (membership.IsPaused)
            return MembershipStanding.Paused;
        if (membership.LeavesAt is not null)
            return MembershipStanding.Leaving;
        return now >= membership.PaidThrough ? MembershipStanding.Grace : MembershipStanding.Active;
    }

    /// <summary>The kinder of two.</summary>
    public static AfterLeaving Kinder(AfterLeaving one, AfterLeaving other) => one > other ? one : other;
}
