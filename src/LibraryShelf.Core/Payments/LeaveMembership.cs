using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Payments;

/// <summary>Who wants to leave: signed in, or by the link of a mail.</summary>
public abstract record Leaver
{
    private Leaver() { }

    public sealed record SignedIn(long PersonId) : Leaver;

    public sealed record ByLink(string Token) : Leaver;
}

/// <param name="IsUnpaid">Nothing is paid for the time that runs: leaving ends it at once.</param>
/// <param name="WithdrawBy">Exclusive.</param>
/// <param name="LastPaid">The payment that taking it back would return; null: the time for that is over.</param>
public sealed record LeaveLook(string Email, MembershipStanding Standing, bool IsUnpaid, DateTimeOffset? PaidThrough, DateTimeOffset ActiveUntil, Payment? LastPaid, DateTimeOffset? WithdrawBy);

public abstract record LeaveOutcome
{
    private LeaveOutcome() { }

    /// <summary>Nothing more is taken; it counts until <paramref name="Until"/>.</summary>
    public sealed record Left(DateTimeOffset? Until) : LeaveOutcome;

    /// <summary>Nothing was paid for the time that runs, so it has ended at once, and what is due is not taken any more.</summary>
    public sealed record Ended : LeaveOutcome;

    /// <summary>The payment is on its way back, 0 when it had gone back before, and the membership has ended.</summary>
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
                .OrderByDescending(m => m.LeavesAt == null).ThenByDescending(m => m.ActiveUntil > now).ThenByDescending(m => m.Id).FirstOrDefaultAsync(cancellationToken);
        var hash = Secrets.Hash(((Leaver.ByLink)leaver).Token);
        return await all.Where(m => m.EndedAt == null && db.LeaveTickets.Any(t => t.TokenHash == hash && t.PaidMembershipId == m.Id))
            .SingleOrDefaultAsync(cancellationToken);
    }

    /// <summary>Nothing is paid for the time that runs.</summary>
    public static bool IsUnpaid(PaidMembership membership, DateTimeOffset now) => membership.PaidThrough is not { } paid || paid <= now;

    /// <summary>The end of the last day on which the payment may be taken back, by the shop's calendar: the day of the payment is not counted. Exclusive.</summary>
    public static async Task<DateTimeOffset> WithdrawByAsync(ShelfDb db, Payment payment, int withdrawDays, CancellationToken cancellationToken)
    {
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        return zone.AtStartOfDay(payment.PaidAt.ToInstant().InZone(zone).Date.PlusDays(withdrawDays + 1)).ToDateTimeOffset();
    }

    /// <summary>The first payment of the membership may be taken back for a time; later ones are not a new contract.</summary>
    public static async Task<Payment?> ReturnableAsync(
        ShelfDb db, PaidMembership membership, int withdrawDays, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var payments = await db.Payments.AsNoTracking().Where(p => p.PaidMembershipId == membership.Id).OrderBy(p => p.PeriodStart).Take(2).ToListAsync(cancellationToken);
        // Returned already but not ended: what was begun may be finished.
        return withdrawDays > 0 && payments is [{ IsDisputeLost: false, Minor: > 0 } only]
            && now < await WithdrawByAsync(db, only, withdrawDays, cancellationToken) ? only : null;
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
        return new(email ?? "", MembershipRule.StandingAt(membership, now), LeavingOne.IsUnpaid(membership, now), membership.PaidThrough, membership.ActiveUntil, last,
            last is null ? null : await LeavingOne.WithdrawByAsync(db, last, days, cancellationToken));
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
        var now = clock.GetUtcNow();
        if (await LeavingOne.FindAsync(db, leaver, now, cancellationToken) is not { } membership)
            return new LeaveOutcome.NothingToLeave();
        // Left at the end of a time that is not paid, its payment would be tried again till then.
        var isUnpaid = !staysAfterAll && LeavingOne.IsUnpaid(membership, now);
        try
        {
            if (isUnpaid)
                await payments.EndAsync(membership.ProviderId, cancellationToken);
            else
                await payments.LeaveAsync(membership.ProviderId, staysAfterAll, cancellationToken);
            await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new LeaveOutcome.Unreachable(away.Message);
        }
        return isUnpaid ? new LeaveOutcome.Ended() : new LeaveOutcome.Left(await db.PaidMemberships.Where(m => m.Id == membership.Id).Select(m => m.LeavesAt).SingleAsync(cancellationToken));
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
        var left = payment.Minor - payment.RefundedMinor;
        try
        {
            if (left > 0)
                await payments.RefundAsync(payment.Id, payment.RefundedMinor == 0 ? null : left, $"withdraw-{payment.Id}", cancellationToken);
            await payments.EndAsync(membership.ProviderId, cancellationToken);
            await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new LeaveOutcome.Unreachable(away.Message);
        }
        return new LeaveOutcome.TakenBack(left, payment.Currency);
    }
}
