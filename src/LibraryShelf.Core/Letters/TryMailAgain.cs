using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

public enum TryMailAgainOutcome
{
    /// <summary>It waits in the outbox again, with all its tries: wake the job that sends.</summary>
    Waits,
    /// <summary>It is back in the same way, but the maker stopped it with others about the same thing, and it waits until they are let go.</summary>
    WaitsStopped,
    /// <summary>It is not given up (any more): it waits already, was sent, or was left out. Nothing was changed; nor for the outcomes below.</summary>
    NotGivenUp,
    /// <summary>Its text is not kept: mails to sign in, and those given up long ago.</summary>
    TextGone,
    /// <summary>Whom it was for is not there any more, or the membership it is about.</summary>
    NobodyThere,
    /// <summary>They have said since that they want no mails of its kind.</summary>
    Refused,
    /// <summary>The mailbox refused for good: the maker lifts that first.</summary>
    Suppressed,
}

/// <summary>
/// Puts a mail that was given up back into the outbox, once however often it is pressed. It goes to the address its person has by now, with its old
/// Message-ID; a letter is composed anew, and a link to leave is a new one. What may not be sent stays where it is.
/// </summary>
public sealed class TryMailAgain(ShelfDb db, TimeProvider clock)
{
    public async Task<TryMailAgainOutcome> RunAsync(long id, CancellationToken cancellationToken)
    {
        if (await db.Outbox.AsNoTracking().SingleOrDefaultAsync(m => m.Id == id, cancellationToken) is not { GaveUpAt: { } gaveUp, IsLeftOut: false } mail)
            return TryMailAgainOutcome.NotGivenUp;
        if (!mail.CanBeTriedAgain)
            return TryMailAgainOutcome.TextGone;
        if (await Receiver.FindAsync(db, mail, cancellationToken) is not { } receiver)
            return TryMailAgainOutcome.NobodyThere;
        var kind = MailKinds.Of(mail.Cause);
        var why = MaySend.Decide(kind, await receiver.IsRefusedAsync(db, kind, cancellationToken), await receiver.IsSuppressedAsync(db, cancellationToken), isHeld: false);
        if (why != MaySendWhy.Yes)
            return why == MaySendWhy.Refused ? TryMailAgainOutcome.Refused : TryMailAgainOutcome.Suppressed;
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await LeaveLink.RenewAsync(db, mail.Cause, mail.Text, now, cancellationToken) is not { } text)
            return TryMailAgainOutcome.NobodyThere;
        var isPut = await db.Outbox.Where(m => m.Id == id && m.GaveUpAt == gaveUp && m.SentAt == null).ExecuteUpdateAsync(s => s
            .SetProperty(m => m.GaveUpAt, (DateTimeOffset?)null).SetProperty(m => m.Attempts, 0)
            .SetProperty(m => m.NextTryAt, now).SetProperty(m => m.LastError, (string?)null).SetProperty(m => m.Text, text), cancellationToken) == 1;
        if (!isPut)
            return TryMailAgainOutcome.NotGivenUp;
        // The ticket of a new link to leave, if it has one.
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return await db.Outbox.NotStopped(db).AnyAsync(m => m.Id == id, cancellationToken) ? TryMailAgainOutcome.Waits : TryMailAgainOutcome.WaitsStopped;
    }
}
