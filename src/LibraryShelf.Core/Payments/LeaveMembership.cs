using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Payments;

/// <summary>Who wants to leave: signed in, or by the link of a mail.</summary>
public abstract record Leaver
{
    private Leaver() { }

    public sealed record SignedIn(long PersonId) : Leaver;

    public sealed record ByLink(string Token) : Leaver;
}

/// <param name="LastPaid">The payment that taking it back would return; null: the time for that is over.</param>
public sealed record LeaveLook(string Email, MembershipStanding Standing, DateTimeOffset? PaidThrough, DateTimeOffset ActiveUntil, Payment? LastPaid, DateTimeOffset? WithdrawBy);

public abstract record LeaveOutcome
{
    private LeaveOutcome() { }

    /// <summary>Nothing more is taken; it counts until <paramref name="Until"/>.</summary>
    public sealed record Left(DateTimeOffset? Until) : LeaveOutcome;

    /// <summary>The payment is on its way back, and the membership has ended.</summary>
    public sealed record TakenBack(long Minor, string Currency) : LeaveOutcome;

    /// <summary>The link or the person has no membership that goes on; nothing was changed.</summary>
    public sealed record NothingToLeave : LeaveOutcome;

    /// <summary>The time for taking it back is over; nothing was changed, leaving is possible.</summary>
    public sealed record TooLate : LeaveOutcome;

    public sealed record Unreachable(string Words) : LeaveOutcome;
}

/// <summary>Which membership someone who wants to leave means.</summary>
internal static class LeavingOne
{
    public static async Task<PaidMembership?> FindAsync(ShelfDb db, Leaver leaver, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var all = db.PaidMemberships.AsNoTracking();
        if (leaver is Leaver.SignedIn signedIn)
            return await all.Where(m => m.PersonId == signedIn.PersonId && m.EndedAt == null)
                .OrderByDescending(m => m.ActiveUntil > now).ThenByDescending(m => m.Id).FirstOrDefaultAsync(cancellationToken);
        var hash = Secrets.Hash(((Leaver.ByLink)leaver).Token);
        return await all.Where(m => m.EndedAt == null && db.LeaveTickets.Any(t => t.TokenHash == hash && t.PaidMembershipId == m.Id))
            .SingleOrDefaultAsync(cancellationToken);
    }

    /// <summary>The first payment of the membership may be taken back for a time; later ones are not a new contract.</summary>
    public static async Task<Payment?> ReturnableAsync(
        ShelfDb db, PaidMembership membership, int withdrawDays, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var payments = await db.Payments.AsNoTracking().Where(p => p.PaidMembershipId == membership.Id).OrderBy(p => p.PeriodStart).Take(2).ToListAsync(cancellationToken);
        // Returned already but not ended: what was begun may be finished.
        return payments is [{ IsDisputeLost: false, Minor: > 0 } only] && now < only.PaidAt.AddDays(withdrawDays) ? only : null;
    }
}

/// <summary>What the page of leaving says before the second press.</summary>
public sealed class LookAtLeaving(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<LeaveLook?> RunAsync(Leaver leaver, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (await LeavingOne.FindAsync(db, leaver, now, cancellationToken) is not { } membership)
            return null;
        var email = await db.Users.Where(p => p.Id == membership.PersonId).Select(p => p.Email).SingleAsync(cancellationToken);
        var days = settings.Value.Membership.WithdrawDays;
        var last = await LeavingOne.ReturnableAsync(db, membership, days, now, cancellationToken);
        return new(email ?? "", MembershipRule.StandingAt(membership, now), membership.PaidThrough, membership.ActiveUntil, last, last?.PaidAt.AddDays(days));
    }
}

/// <summary>The second press: nothing more is taken, what is paid stays open to its end.</summary>
public sealed class LeaveMembership(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock)
{
    /// <param name="leaver">Who presses.</param>
    /// <param name="staysAfterAll">Takes leaving back while it has not ended.</param>
    /// <param name="shelfAddress">For the mail, without a slash at its end.</param>
    /// <param name="cancellationToken">Ends it; whether the provider heard is found out by the next look.</param>
    public async Task<LeaveOutcome> RunAsync(Leaver leaver, bool staysAfterAll, string? shelfAddress, CancellationToken cancellationToken)
    {
        if (await LeavingOne.FindAsync(db, leaver, clock.GetUtcNow(), cancellationToken) is not { } membership)
            return new LeaveOutcome.NothingToLeave();
        try
        {
            await payments.LeaveAsync(membership.ProviderId, staysAfterAll, cancellationToken);
            await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new LeaveOutcome.Unreachable(away.Message);
        }
        return new LeaveOutcome.Left(await db.PaidMemberships.Where(m => m.Id == membership.Id).Select(m => m.LeavesAt).SingleAsync(cancellationToken));
    }
}

/// <summary>
/// The right of withdrawal: within its days the first payment is returned whole and the membership ends at once. The payment is returned first: ended but
/// not paid back would be the worse half.
/// </summary>
public sealed class WithdrawFromMembership(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<LeaveOutcome> RunAsync(Leaver leaver, string? shelfAddress, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (await LeavingOne.FindAsync(db, leaver, now, cancellationToken) is not { } membership)
            return new LeaveOutcome.NothingToLeave();
        if (await LeavingOne.ReturnableAsync(db, membership, settings.Value.Membership.WithdrawDays, now, cancellationToken) is not { } payment)
            return new LeaveOutcome.TooLate();
        try
        {
            if (payment.TakenBackAt is null)
                await payments.RefundAsync(payment.Id, payment.RefundedMinor == 0 ? null : payment.Minor - payment.RefundedMinor, $"withdraw-{payment.Id}", cancellationToken);
            await payments.EndAsync(membership.ProviderId, cancellationToken);
            await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new LeaveOutcome.Unreachable(away.Message);
        }
        return new LeaveOutcome.TakenBack(payment.Minor, payment.Currency);
    }
}
