using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

public abstract record EndPaidOutcome
{
    private EndPaidOutcome() { }

    /// <summary>Nothing more is taken. <paramref name="Until"/>: it counts until then, which is now when it was ended at once.</summary>
    public sealed record Ended(DateTimeOffset Until) : EndPaidOutcome;

    /// <summary>This person has no such membership that goes on; nothing was changed.</summary>
    public sealed record NothingToEnd : EndPaidOutcome;

    public sealed record Unreachable(string Words) : EndPaidOutcome;
}

/// <summary>The maker ends somebody's paid membership: at the end of what is paid, or at once. Nothing is paid back by it.</summary>
public sealed class EndPaidMembership(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock)
{
    public async Task<EndPaidOutcome> RunAsync(
        long personId, long membershipId, bool atOnce, string? shelfAddress, CancellationToken cancellationToken)
    {
        var goesOn = db.PaidMemberships.AsNoTracking().Where(m => m.Id == membershipId && m.PersonId == personId && m.EndedAt == null);
        if (await goesOn.SingleOrDefaultAsync(cancellationToken) is not { } membership || (!atOnce && membership.LeavesAt is not null))
            return new EndPaidOutcome.NothingToEnd();
        try
        {
            // At the end of a time that is not paid, its payment would be tried again till then.
            if (atOnce || LeavingOne.IsUnpaid(membership, clock.GetUtcNow()))
                await payments.EndAsync(membership.ProviderId, cancellationToken);
            else
                await payments.LeaveAsync(membership.ProviderId, goesOn: false, cancellationToken);
            await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new EndPaidOutcome.Unreachable(away.Message);
        }
        return new EndPaidOutcome.Ended(await db.PaidMemberships.Where(m => m.Id == membershipId).Select(m => m.ActiveUntil).SingleAsync(cancellationToken));
    }
}
