using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>One person as the database sorts and counts them.</summary>
internal sealed class MemberRow
{
    public long Id { get; init; }
    public string? Email { get; init; }
    public string? NormalizedEmail { get; init; }
    public DateTimeOffset CreatedAt { get; init; }
    public bool HasSignedIn { get; init; }
    public MemberState State { get; init; }

    /// <summary>Everyone the shelf knows by an address of their own, except the maker. The state is <see cref="MembershipRule.StandingAt"/> said to the database.</summary>
    public static IQueryable<MemberRow> Of(ShelfDb db, DateTimeOffset now)
    {
        var taken = now - MembershipRule.Renewing;
        var paid = db.PaidMemberships.Where(m => m.StartedAt <= now && m.ActiveUntil > now);
        return db.Users.AsNoTracking().Where(p => !p.IsMaker && p.DeletedAt == null && p.MergedIntoId == null).Select(p => new MemberRow
        {
            Id = p.Id, Email = p.Email, NormalizedEmail = p.NormalizedEmail, CreatedAt = p.CreatedAt, HasSignedIn = p.EmailConfirmed,
            State = paid.Any(m => m.PersonId == p.Id && !m.IsPaused && m.LeavesAt == null && (m.PaidThrough > now || (m.PaidThrough > taken && !m.IsRefused))) ? MemberState.Paying
                : paid.Any(m => m.PersonId == p.Id && !m.IsPaused && m.LeavesAt == null) ? MemberState.Grace
                : paid.Any(m => m.PersonId == p.Id && !m.IsPaused) ? MemberState.Leaving
                : paid.Any(m => m.PersonId == p.Id) ? MemberState.Paused
                : db.MembershipGrants.Any(g => g.PersonId == p.Id && g.From <= now && (g.Until == null || g.Until > now)) ? MemberState.ByHand
                : db.MembershipGrants.Any(g => g.PersonId == p.Id && g.From <= now)
                    || db.PaidMemberships.Any(m => m.PersonId == p.Id && m.StartedAt <= now) ? MemberState.Left
                : MemberState.NoMember,
        });
    }
}
