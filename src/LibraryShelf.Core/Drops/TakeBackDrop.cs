using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>Takes back that a drop goes out at once: it comes when it was planned for, or, where that hour is past, waits for the maker's word.</summary>
public sealed class TakeBackDrop(ShelfDb db, TimeProvider clock)
{
    /// <param name="month">Whose it is.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    /// <returns>Done also where nothing was to be taken back; there is no revision, because nothing is worse than to come too late.</returns>
    public Task<DropOutcome> RunAsync(YearMonth month, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => TakeBackAsync(month, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> TakeBackAsync(YearMonth month, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop is null)
            return new DropOutcome.Missing();
        if (drop.State == DropState.Sent)
            return new DropOutcome.Refused("", T("It is out already, so it can’t be taken back. A version of it can be withdrawn on its own page."));
        if (drop is not { State: DropState.Planned, IsAtOnce: true })
            return new DropOutcome.Done(null);
        drop.ComeAt(DropForm.Of(drop).DueIn(month) ?? drop.DueAt, isAtOnce: false);
        drop.AskIfDue(now);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return DropOutcome.Done.Of(drop, now);
    }
}
