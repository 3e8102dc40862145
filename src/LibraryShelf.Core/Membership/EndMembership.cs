using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

public enum EndOutcome
{
    Ended,
    /// <summary>Nothing given to the person holds now or begins later; nothing was written.</summary>
    NoMembership,
}

/// <summary>
/// Ends what was given to a person now, and takes away what was to begin later, as a list may bring it. Started downloads may still be finished; what they took while it was free stays
/// theirs.
/// </summary>
public sealed class EndMembership(ShelfDb db, TimeProvider clock)
{
    public async Task<EndOutcome> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var later = await db.MembershipGrants.Where(g => g.PersonId == personId && g.From > now).ExecuteDeleteAsync(cancellationToken);
        var ended = await db.MembershipGrants
            .Where(g => g.PersonId == personId && g.From <= now && (g.Until == null || g.Until > now))
            .ExecuteUpdateAsync(s => s.SetProperty(g => g.Until, now), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return ended + later > 0 ? EndOutcome.Ended : EndOutcome.NoMembership;
    }
}
