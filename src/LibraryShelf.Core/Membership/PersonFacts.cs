using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>What the rule of rights needs to know of a person, whatever the release.</summary>
internal sealed record PersonFacts(bool IsSignedIn, bool IsMaker, bool IsActiveMember, IReadOnlySet<long> TakenWhileFree, IReadOnlySet<long> EarlyFor)
{
    private static readonly PersonFacts Visitor = new(false, false, false, new HashSet<long>(), new HashSet<long>());

    /// <summary>Reads the person's facts at <paramref name="now"/>; a null or unknown person is a visitor.</summary>
    public static async Task<PersonFacts> LoadAsync(ShelfDb db, long? personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (personId is not { } id) return Visitor;
        var isMaker = await db.Users.Where(p => p.Id == id).Select(p => (bool?)p.IsMaker).FirstOrDefaultAsync(cancellationToken);
        if (isMaker is null) return Visitor;
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == id).ToListAsync(cancellationToken);
        // Started, not merely pressed: a link that was never used took nothing.
        var taken = await db.Downloads
            .Where(d => d.PersonId == id && d.StartedAt != null && d.Why == MayDownloadWhy.Free)
            .Select(d => d.ReleaseId).Distinct().ToListAsync(cancellationToken);
        var early = await db.EarlyGuests.Where(g => g.PersonId == id).Select(g => g.ReleaseId).ToListAsync(cancellationToken);
        return new(true, isMaker.Value, grants.Exists(g => g.IsActiveAt(now)), taken.ToHashSet(), early.ToHashSet());
    }
}
