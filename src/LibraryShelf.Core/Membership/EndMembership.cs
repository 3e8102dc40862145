using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

public enum EndOutcome
{
    Ended,
    /// <summary>The person has no active membership; nothing was written.</summary>
    NoMembership,
}

/// <summary>Ends a person's membership now. Started downloads may still be finished; what they took while it was free stays theirs.</summary>
public sealed class EndMembership(ShelfDb db, TimeProvider clock)
{
    public async Task<EndOutcome> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var ended = await db.MembershipGrants
            .Where(g => g.PersonId == personId && g.From <= now && (g.Until == null || g.Until > now))
            .ExecuteUpdateAsync(s => s.SetProperty(g => g.Until, now), cancellationToken);
        return ended > 0 ? EndOutcome.Ended : EndOutcome.NoMembership;
    }
}
