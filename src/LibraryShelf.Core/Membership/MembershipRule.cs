namespace LibraryShelf.Core.Membership;

/// <summary>Until when a paid membership counts, and how it stands: pure.</summary>
public static class MembershipRule
{
    /// <summary>How long after a period's end its renewal may be on its way: the provider leaves an invoice about an hour before it takes the money.</summary>
    internal static readonly TimeSpan Renewing = TimeSpan.FromHours(3);

    /// <summary>
    /// Paid through, and the days of grace beyond, unless it ends or rests there by itself. The grace also covers the hours in which a renewal
    /// is on its way. One that was ended at once ends at once.
    /// </summary>
    /// <returns>Exclusive. <see cref="PaidMembership.StartedAt"/> when nothing was ever paid.</returns>
    public static DateTimeOffset ActiveUntil(PaidMembership membership, int graceDays)
    {
        if (membership.PaidThrough is not { } paid)
            return membership.StartedAt;
        // One who leaves at the end of a time that is not paid yet is in grace like anybody whose renewal is tried again.
        var until = membership.IsPaused ? paid
            : membership.LeavesAt is { } leaves ? Earlier(Later(leaves, paid), paid.AddDays(graceDays)) : paid.AddDays(graceDays);
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
        return now >= membership.PaidThrough && (membership.IsRefused || now >= membership.PaidThrough + Renewing) ? MembershipStanding.Grace : MembershipStanding.Active;
    }

    private static DateTimeOffset Earlier(DateTimeOffset one, DateTimeOffset other) => one < other ? one : other;

    private static DateTimeOffset Later(DateTimeOffset one, DateTimeOffset other) => one > other ? one : other;

    /// <summary>The kinder of two.</summary>
    public static AfterLeaving Kinder(AfterLeaving one, AfterLeaving other) => one > other ? one : other;
}
