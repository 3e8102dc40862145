using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>One person the shelf knows, and how they stand.</summary>
/// <param name="HasSignedIn">False: invited, or joined, and never proved the mailbox yet.</param>
/// <param name="Stretch">The time without a gap in which they are a member now; else the last, else the first to come; null: none.</param>
/// <param name="ByHand">The grant that holds now and lasts longest, else the last one.</param>
/// <param name="Paid">The paid membership that holds now, else the last one.</param>
/// <param name="Plan">Of <paramref name="Paid"/>.</param>
public sealed record MemberLine(
    long PersonId, string Email, DateTimeOffset KnownSince, bool HasSignedIn, MemberState State, MemberTime? Stretch,
    MembershipGrant? ByHand, PaidMembership? Paid, Plan? Plan)
{
    public bool IsMember => State < MemberState.Left;

    internal static async Task<IReadOnlyList<MemberLine>> ReadAsync(
        ShelfDb db, IReadOnlyList<MemberRow> rows, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var plans = await db.Plans.AsNoTracking().ToDictionaryAsync(p => p.Id, cancellationToken);
        var lines = new List<MemberLine>(rows.Count);
        // Each person is a parameter of the questions.
        foreach (var some in rows.Chunk(100))
        {
            var ids = some.Select(r => r.Id).ToList();
            var grants = (await db.MembershipGrants.AsNoTracking().Where(g => ids.Contains(g.PersonId)).ToListAsync(cancellationToken)).ToLookup(g => g.PersonId);
            var paid = (await db.PaidMemberships.AsNoTracking().Where(m => ids.Contains(m.PersonId)).ToListAsync(cancellationToken)).ToLookup(m => m.PersonId);
            lines.AddRange(some.Select(r => Of(r, [.. grants[r.Id]], [.. paid[r.Id]], plans, now)));
        }
        return lines;
    }

    private static MemberLine Of(
        MemberRow row, List<MembershipGrant> grants, List<PaidMembership> paid, Dictionary<long, Plan> plans, DateTimeOffset now)
    {
        var times = grants.Select(g => new MemberTime(g.From, g.Until)).Concat(paid.Select(m => new MemberTime(m.StartedAt, m.ActiveUntil)));
        var grant = grants.OrderByDescending(g => g.IsActiveAt(now)).ThenByDescending(g => g.Until ?? DateTimeOffset.MaxValue).ThenByDescending(g => g.Id).FirstOrDefault();
        var membership = paid.OrderBy(m => MembershipRule.StandingAt(m, now)).ThenByDescending(m => m.ActiveUntil).ThenByDescending(m => m.Id).FirstOrDefault();
        var plan = membership?.PlanId is { } id ? plans.GetValueOrDefault(id) : null;
        return new(row.Id, row.Email ?? "", row.CreatedAt, row.HasSignedIn, row.State, MemberStretch.At(times, now), grant, membership, plan);
    }
}
