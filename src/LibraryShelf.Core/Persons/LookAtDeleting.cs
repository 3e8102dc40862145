using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Persons;

/// <summary>What deleting somebody means for them, before they press.</summary>
/// <param name="Running">How many paid memberships go on, and would end at once.</param>
/// <param name="Withdrawable">The payment that taking the joining back would still return; null: none.</param>
/// <param name="Downloads">Started ones; what they took while it was free is lost too.</param>
/// <param name="KeptUntil">What is kept of payments goes at this instant; null: nothing was paid.</param>
public sealed record DeletingLook(
    string Email, bool IsMaker, int Running, Payment? Withdrawable, bool HasMembershipGiven, int Months, int Downloads, int Payments, DateTimeOffset? KeptUntil);

/// <summary>Looks at what deleting this person would take and what would stay; changes nothing.</summary>
public sealed class LookAtDeleting(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <returns>Null when there is no such person (any more).</returns>
    public async Task<DeletingLook?> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var person = await db.Users.AsNoTracking()
            .SingleOrDefaultAsync(p => p.Id == personId && p.DeletedAt == null && p.MergedIntoId == null, cancellationToken);
        if (person is null)
            return null;
        var now = clock.GetUtcNow();
        var running = await db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == personId && m.EndedAt == null).OrderBy(m => m.Id).ToListAsync(cancellationToken);
        Payment? back = null;
        foreach (var membership in running)
            back ??= await LeavingOne.ReturnableAsync(db, membership, settings.Value.Membership.WithdrawDays, now, cancellationToken);
        var payments = await db.Payments.Where(p => p.PersonId == personId).Select(p => p.PaidAt).ToListAsync(cancellationToken);
        return new(
            person.Email ?? "", person.IsMaker, running.Count, back,
            await db.MembershipGrants.AnyAsync(g => g.PersonId == personId && g.From <= now && (g.Until == null || g.Until > now), cancellationToken),
            await db.PaidMonths.CountAsync(m => m.PersonId == personId, cancellationToken),
            await db.Downloads.CountAsync(d => d.PersonId == personId && d.StartedAt != null, cancellationToken),
            payments.Count,
            payments.Count == 0 ? null : KeptPayments.Until(payments.Max(), settings.Value.Privacy.KeepPaymentsYears, now));
    }
}

/// <summary>The same for the page behind the mailed link. <paramref name="Look"/> is null unless the link is open.</summary>
public sealed record DeleteLinkLook(TicketState State, DeletingLook? Look);

/// <summary>Looks at the link that deletes; opening it uses nothing up, because mail scanners open links.</summary>
public sealed class LookAtDeleteLink(LookAtTicket look, LookAtDeleting lookAtDeleting, ShelfDb db)
{
    public async Task<DeleteLinkLook> RunAsync(string token, CancellationToken cancellationToken)
    {
        var ticket = await look.RunAsync(token, SignInPurpose.DeleteMe, cancellationToken);
        if (ticket.State != TicketState.Open)
            return new(ticket.State, null);
        var normalized = EmailAddress.Normalize(ticket.Email);
        var person = await db.Users.Where(p => p.NormalizedEmail == normalized && p.MergedIntoId == null).Select(p => (long?)p.Id).FirstOrDefaultAsync(cancellationToken);
        var found = person is { } id ? await lookAtDeleting.RunAsync(id, cancellationToken) : null;
        // The address has become somebody's other one, or nobody's, since the mail: the link means nobody any more.
        return found is null ? new(TicketState.Unknown, null) : new(TicketState.Open, found);
    }
}
