using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Membership;

/// <summary>Who is a member at an instant, given by hand or paid for: the one place that asks.</summary>
internal static class ActiveMembers
{
    /// <summary>Ids of people; one may come twice.</summary>
    public static IQueryable<long> At(ShelfDb db, DateTimeOffset at) =>
        db.MembershipGrants.Where(g => g.From <= at && (g.Until == null || g.Until > at)).Select(g => g.PersonId)
            .Concat(db.PaidMemberships.Where(m => m.StartedAt <= at && m.ActiveUntil > at).Select(m => m.PersonId));
}
