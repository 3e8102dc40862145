using LibraryShelf.Core.Data;
using LibraryShelf.Core.Letters.Weekly;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

public enum EndHoldOutcome
{
    /// <summary>Mails and drops go out again.</summary>
    Ended,
    /// <summary>Nothing was held; nothing was done.</summary>
    NotHeld,
    /// <summary>This shelf is only there to try a backup; nothing was done, and it stays held.</summary>
    IsTrial,
}

/// <summary>The maker says that this restored shelf is the one shelf: mails and drops go out again, and what was decided is done at the payment provider.</summary>
public sealed class EndHold(ShelfDb db, TimeProvider clock)
{
    internal static string ThrownAway => T("Thrown away by the maker after the shelf was restored.");

    internal static string ToldBefore => T("Not written: it was due before the shelf was restored, and the old one has told of that week.");

    /// <param name="throwAway">
    /// Mails that waited when the backup was made are not sent, letters that would be composed on sending among them, and those that were still to be written are
    /// not written. Each stays as a line of the outbox, so that it is not written again; the last mail to somebody deleted goes with its line. Mails about a change
    /// of price are sent all the same: without them the new price would never be anybody's, or somebody would wait for one that was called off.
    /// Mails to many that she had stopped stay stopped.
    /// </param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<EndHoldOutcome> RunAsync(bool throwAway, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken) is not { HeldSince: { } since } shop)
            return EndHoldOutcome.NotHeld;
        if (shop.IsTrial)
            return EndHoldOutcome.IsTrial;
        if (throwAway)
            await ThrowAwayAsync(since, cancellationToken);
        await LeaveOutWeekAsync(since, cancellationToken);
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return EndHoldOutcome.Ended;
    }

    /// <summary>
    /// A backup from before Monday's letter knows nothing of it. Its figures stand on the pages whenever the maker looks, so rather none than the same week twice; what
    /// came due since the shelf was restored, nobody else has told.
    /// </summary>
    private async Task LeaveOutWeekAsync(DateTimeOffset since, CancellationToken cancellationToken)
    {
        var (cause, due) = DueWeek.Last(clock.GetUtcNow(), await MarkDays.ZoneAsync(db, cancellationToken));
        if (due > since || await DueWeek.ReaderAsync(db, due, cancellationToken) is not { } maker || await db.Outbox.AnyAsync(m => m.Cause == cause, cancellationToken))
            return;
        var now = clock.GetUtcNow();
        db.Outbox.Add(new OutboxMail { Cause = cause, PersonId = maker, Subject = T("Your week"), CreatedAt = now, GaveUpAt = now, LastError = ToldBefore });
        await db.SaveChangesAsync(cancellationToken);
    }

    private async Task ThrowAwayAsync(DateTimeOffset since, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var old = ReadHold.OldMails(db, since).Where(MailKinds.IsNotAboutPrice);
        // Its row would keep the address of somebody deleted.
        await old.Where(m => m.Cause.StartsWith(OutboxMail.Last)).ExecuteDeleteAsync(cancellationToken);
        // Nobody failed, whatever was tried before the backup was made: without tries nobody is alerted, and none is offered for another.
        await old.ExecuteUpdateAsync(s => s
            .SetProperty(m => m.GaveUpAt, now).SetProperty(m => m.Attempts, 0).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
            .SetProperty(m => m.Text, "").SetProperty(m => m.LastError, ThrownAway), cancellationToken);
        await db.Releases.Where(r => r.TellAskedAt < since).ExecuteUpdateAsync(s => s.SetProperty(r => r.TellAskedAt, (DateTimeOffset?)null).SetProperty(r => r.TellPlace, (string?)null), cancellationToken);
        await db.BehindLetters.Where(l => l.DoneAt == null && l.AskedAt < since).ExecuteUpdateAsync(s => s.SetProperty(l => l.DoneAt, now), cancellationToken);
    }
}
