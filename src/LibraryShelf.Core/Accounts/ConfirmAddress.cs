using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record ConfirmAddressOutcome
{
    private ConfirmAddressOutcome() { }

    /// <summary>Both have said yes: the person signs in with the new address from now on, and is signed out everywhere.</summary>
    public sealed record Changed(Person Person) : ConfirmAddressOutcome;

    /// <summary>This one has said yes, the other nothing yet; nothing has changed.</summary>
    public sealed record WaitsForOther : ConfirmAddressOutcome;

    /// <summary>This one has said no: the wish has ended, and nothing has changed.</summary>
    public sealed record SaidNo : ConfirmAddressOutcome;

    /// <summary>Somebody else got the new address meanwhile: the wish has ended, and nothing has changed.</summary>
    public sealed record Taken : ConfirmAddressOutcome;

    /// <summary>There is nothing to answer any more; nothing has changed.</summary>
    public sealed record LinkRefused(AddressChangeState State) : ConfirmAddressOutcome;
}

/// <summary>One of the two mailboxes answers. When both have said yes, the address changes with all that hangs on it, in one transaction.</summary>
public sealed class ConfirmAddress(ShelfDb db, TimeProvider clock)
{
    /// <param name="token">Of one of the two links.</param>
    /// <param name="isYes">False: no.</param>
    public Task<ConfirmAddressOutcome> RunAsync(string token, bool isYes, CancellationToken cancellationToken) =>
        // Whoever signs in with the new address at this moment adds a person: found on looking again.
        FreshEyes.LookAsync(db, () => AnswerAsync(Secrets.Hash(token), isYes, cancellationToken), () => new ConfirmAddressOutcome.Taken());

    private async Task<ConfirmAddressOutcome> AnswerAsync(string hash, bool isYes, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var change = await db.AddressChanges.FirstOrDefaultAsync(c => c.OldTokenHash == hash || c.NewTokenHash == hash, cancellationToken);
        var state = change?.StateAt(now, change.OldTokenHash == hash) ?? AddressChangeState.Unknown;
        if (change is null || state is not (AddressChangeState.Open or AddressChangeState.SaidYes))
            return new ConfirmAddressOutcome.LinkRefused(state);
        var outcome = isYes ? await YesAsync(change, change.OldTokenHash == hash, now, cancellationToken) : No(change, now);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    private static ConfirmAddressOutcome.SaidNo No(AddressChange change, DateTimeOffset now)
    {
        change.EndedAt = now;
        return new();
    }

    private async Task<ConfirmAddressOutcome> YesAsync(AddressChange change, bool isOld, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if ((isOld ? change.NewSaidYesAt : change.OldSaidYesAt) is null)
        {
            Say(change, isOld, now);
            return new ConfirmAddressOutcome.WaitsForOther();
        }
        var normalizedOld = EmailAddress.Normalize(change.OldEmail);
        var person = await db.Users.SingleOrDefaultAsync(p => p.Id == change.PersonId && p.NormalizedEmail == normalizedOld, cancellationToken);
        if (person is null || await IsTakenAsync(change, cancellationToken))
        {
            change.EndedAt = now;
            return person is null ? new ConfirmAddressOutcome.LinkRefused(AddressChangeState.Ended) : new ConfirmAddressOutcome.Taken();
        }
        Say(change, isOld, now);
        await MoveAsync(person, change, now, cancellationToken);
        return new ConfirmAddressOutcome.Changed(person);
    }

    private static void Say(AddressChange change, bool isOld, DateTimeOffset now)
    {
        if (isOld)
            change.OldSaidYesAt ??= now;
        else
            change.NewSaidYesAt ??= now;
    }

    private Task<bool> IsTakenAsync(AddressChange change, CancellationToken cancellationToken) => db.Users.AnyAsync(
        p => p.Id != change.PersonId && (p.NormalizedEmail == change.NormalizedNewEmail || p.NormalizedUserName == change.NormalizedNewEmail), cancellationToken);

    private async Task MoveAsync(Person person, AddressChange change, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var normalizedOld = person.NormalizedEmail!;
        (person.Email, person.NormalizedEmail) = (change.NewEmail, change.NormalizedNewEmail);
        (person.UserName, person.NormalizedUserName) = (change.NewEmail, change.NormalizedNewEmail);
        person.EmailConfirmed = true;
        await People.EndSignInsAsync(db, person, now, cancellationToken);
        await AskForAddress.EndWaitingAsync(db, person.Id, now, cancellationToken);
        await MoveTracesAsync(change, normalizedOld, now, cancellationToken);
        var desk = await MailDesk.OpenAsync(db, null, now, cancellationToken);
        var (subject, text) = AddressMail.Changed(desk.Shop, change.OldEmail, change.NewEmail);
        await desk.WriteAsync(
            [
                new($"{AddressMail.Cause}{change.Id}:changed-old", change.OldEmail, subject, text), new($"{AddressMail.Cause}{change.Id}:changed-new", change.NewEmail, subject, text),
            ], cancellationToken);
    }

    /// <summary>
    /// Mails and tickets of before are found by the address, also by whoever deletes the person when this change has long been swept: they stand under
    /// the new one from now on. What was mailed about changes stays where it was sent, and goes with its change.
    /// </summary>
    private async Task MoveTracesAsync(AddressChange change, string normalizedOld, DateTimeOffset now, CancellationToken cancellationToken)
    {
        HashSet<string> written = [change.OldEmail];
        foreach (var ticket in await db.SignInTickets.Where(t => t.NormalizedEmail == normalizedOld).ToListAsync(cancellationToken))
        {
            written.Add(ticket.Email);
            (ticket.Email, ticket.NormalizedEmail) = (change.NewEmail, change.NormalizedNewEmail);
            // A mail that is still in the old mailbox must not sign in there, recover the maker's password or delete anybody.
            ticket.UsedAt ??= now;
        }
        string[] upper = [normalizedOld];
        // The upper case is the database's, which on SQLite knows ASCII alone; what is beyond is found as it was typed.
        await db.Outbox.Where(m => (written.Contains(m.To) || upper.Contains(m.To.ToUpper())) && !m.Cause.StartsWith(AddressMail.Cause))
            .ExecuteUpdateAsync(s => s.SetProperty(m => m.To, change.NewEmail), cancellationToken);
        // What they follow goes along; where the new address follows it too, once is enough, and one yes: the new mailbox just said it.
        await db.Followers.Where(f => f.NormalizedEmail == change.NormalizedNewEmail && f.ConfirmedAt == null
                && db.Followers.Any(o => o.LibraryId == f.LibraryId && o.NormalizedEmail == normalizedOld && o.ConfirmedAt != null))
            .ExecuteUpdateAsync(s => s.SetProperty(f => f.ConfirmedAt, now), cancellationToken);
        await db.Followers.Where(f => f.NormalizedEmail == normalizedOld && db.Followers.Any(o => o.LibraryId == f.LibraryId && o.NormalizedEmail == change.NormalizedNewEmail))
            .ExecuteDeleteAsync(cancellationToken);
        await db.Followers.Where(f => f.NormalizedEmail == normalizedOld)
            .ExecuteUpdateAsync(s => s.SetProperty(f => f.Email, change.NewEmail).SetProperty(f => f.NormalizedEmail, change.NormalizedNewEmail), cancellationToken);
        foreach (var address in written)
            await AlertAddresses.ReplaceAsync(db, address, T("an address changed since"), cancellationToken);
    }
}
