using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Letters.Runs;

public abstract record StopMailsOutcome
{
    private StopMailsOutcome() { }

    /// <summary>Those that wait, and any still to be written, do not go until <see cref="SendMailsOn"/>. One that is on the wire at this moment goes.</summary>
    public sealed record Stopped(MailsGone Gone) : StopMailsOutcome;

    /// <summary>Nothing was changed: whom they concern has to get them (<see cref="MailRun.CanBeStopped"/>).</summary>
    public sealed record HasToBeTold : StopMailsOutcome;

    /// <summary>Nothing was changed: none waits any more, or none was ever written.</summary>
    public sealed record NoneWaits(MailsGone Gone) : StopMailsOutcome;
}

/// <summary>
/// Stops mails to many on their way. What has gone has gone, and what they are about (a drop that is out, a version on the shelf) stays as it is. One row says it, so a kill
/// leaves them going or stopped, and mails written afterwards are stopped with the others.
/// </summary>
public sealed class StopMails(ShelfDb db, TimeProvider clock)
{
    public async Task<StopMailsOutcome> RunAsync(MailRun run, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(run);
        if (!run.CanBeStopped)
            return new StopMailsOutcome.HasToBeTold();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var gone = await MailRuns.GoneAsync(db, run, cancellationToken);
        if (gone.StoppedAt is not null)
            return new StopMailsOutcome.Stopped(gone);
        if (gone is { Waiting: 0, IsBeingWritten: false })
            return new StopMailsOutcome.NoneWaits(gone);
        var now = clock.GetUtcNow();
        db.MailHolds.AddRange(run.Begins.Select(b => new MailHold { Begins = b, AboutId = run.AboutId, At = now }));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new StopMailsOutcome.Stopped(gone with { StoppedAt = now });
    }
}
