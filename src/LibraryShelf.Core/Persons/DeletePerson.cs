using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Persons;

public abstract record DeleteOutcome
{
    private DeleteOutcome() { }

    /// <summary>It is done. <paramref name="KeptUntil"/>: when the payments that have to stay go too; null: nothing was paid, and nothing stays.</summary>
    public sealed record Deleted(long PersonId, DateTimeOffset? KeptUntil) : DeleteOutcome;

    /// <summary>The link's ticket is not open, or means nobody any more; nothing was changed.</summary>
    public sealed record LinkRefused(TicketState State) : DeleteOutcome;

    /// <summary>The shelf is hers; nothing was changed.</summary>
    public sealed record IsMaker : DeleteOutcome;

    /// <summary>A paid membership could not be ended at the provider. Nothing was deleted; the link works as before.</summary>
    public sealed record Unreachable(string Words) : DeleteOutcome;
}

/// <summary>
/// Deletes whoever the mailed link means. What they pay is ended first: deleted and still paying would be the worse half. The rest is one
/// transaction. Doing it halfway and again is no harm: an ended membership stays ended.
/// </summary>
public sealed class DeletePerson(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>A payment page is open for a day; what was paid there later is found by its message, under the address given there.</summary>
    private static readonly TimeSpan CheckoutIsOpen = TimeSpan.FromDays(2);

    public async Task<DeleteOutcome> RunAsync(string token, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var ticket = await db.SignInTickets.AsNoTracking().SingleOrDefaultAsync(t => t.TokenHash == hash && t.Purpose == SignInPurpose.DeleteMe, cancellationToken);
        var state = ticket?.StateAt(clock.GetUtcNow()) ?? TicketState.Unknown;
        if (ticket is null || state != TicketState.Open)
            return new DeleteOutcome.LinkRefused(state);
        var person = await db.Users.AsNoTracking().SingleOrDefaultAsync(p => p.NormalizedEmail == ticket.NormalizedEmail && p.MergedIntoId == null, cancellationToken);
        if (person is null)
            return new DeleteOutcome.LinkRefused(TicketState.Unknown);
        if (person.IsMaker)
            return new DeleteOutcome.IsMaker();
        try
        {
            await FindPaidAsync(person, cancellationToken);
            await EndAsync(person.Id, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new DeleteOutcome.Unreachable(away.Message);
        }
        db.ChangeTracker.Clear();
        db.IsMoney = true;
        return await DeleteAsync(ticket, person.Id, cancellationToken);
    }

    /// <summary>Somebody may have paid a moment ago without the shelf knowing yet: that membership has to end with the others.</summary>
    private async Task FindPaidAsync(Person person, CancellationToken cancellationToken)
    {
        var since = clock.GetUtcNow() - CheckoutIsOpen;
        var open = await db.Joinings.AsNoTracking()
            .Where(j => j.PersonId == person.Id || (j.PersonId == null && j.NormalizedEmail == person.NormalizedEmail))
            .Where(j => j.PaidAt == null && j.CheckoutId != null && j.AgreedAt > since).Select(j => j.CheckoutId!).ToListAsync(cancellationToken);
        foreach (var checkout in open)
        {
            if (await payments.ReadCheckoutAsync(checkout, cancellationToken) is { IsPaid: true, MembershipId: { } membership })
                await lookAgain.RunAsync(membership, shelfAddress: null, cancellationToken);
        }
    }

    private async Task EndAsync(long personId, CancellationToken cancellationToken)
    {
        foreach (var membership in await Running(personId).Select(m => m.ProviderId).ToListAsync(cancellationToken))
        {
            await payments.EndAsync(membership, cancellationToken);
            var outcome = await lookAgain.RunAsync(membership, shelfAddress: null, cancellationToken);
            db.ChangeTracker.Clear();
            // The provider has forgotten it (another account, another key): nothing can be taken for it.
            if (outcome == LookOutcome.NotThere)
                await Running(personId).Where(m => m.ProviderId == membership).ExecuteUpdateAsync(s => s.SetProperty(m => m.EndedAt, clock.GetUtcNow()), cancellationToken);
        }
    }

    private IQueryable<Membership.PaidMembership> Running(long personId) => db.PaidMemberships.Where(m => m.PersonId == personId && m.EndedAt == null);

    private async Task<DeleteOutcome> DeleteAsync(SignInTicket ticket, long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var used = await db.SignInTickets.Where(t => t.Id == ticket.Id && t.UsedAt == null).ExecuteUpdateAsync(s => s.SetProperty(t => t.UsedAt, now), cancellationToken);
        if (used == 0 || await PersonRows.FindAsync(db, personId, cancellationToken) is not { } rows)
            return new DeleteOutcome.LinkRefused(TicketState.Used);
        if (await Running(personId).AnyAsync(cancellationToken))
            return new DeleteOutcome.Unreachable(T("The payment provider has not said yet that the membership has ended."));
        var paid = await db.Payments.Where(p => p.PersonId == personId).MaxAsync(p => (DateTimeOffset?)p.PaidAt, cancellationToken);
        DateTimeOffset? keptUntil = paid is { } last ? KeptPayments.Until(last, settings.Value.Privacy.KeepPaymentsYears, now) : null;
        var payers = await db.PaidMemberships.Where(m => m.PersonId == personId).Select(m => m.CustomerId).Distinct().ToListAsync(cancellationToken);
        await new DeletedRows(db, rows, now).GoAsync(cancellationToken);
        // Each number: in an older backup those merged since may still be people of their own.
        db.Deletions.AddRange(rows.Merged.Select(m => m.Id).Append(personId).Select(id => new Deletion { PersonId = id, At = now }));
        db.Deletions.AddRange(payers.Where(p => p.Length > 0).Select(p => new Deletion { PersonId = personId, At = now, Payer = Deletion.PayerOf(p) }));
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var (subject, text) = PersonMails.Deleted(shop, keptUntil);
        db.Outbox.Add(new OutboxMail { Cause = $"{OutboxMail.Last}{ticket.Id}", To = rows.Person.Email!, Subject = subject, Text = text, CreatedAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new DeleteOutcome.Deleted(personId, keptUntil);
    }
}
