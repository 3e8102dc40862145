using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>Calls a planned drop off: its versions are sealed as before, and its words stay for a later plan.</summary>
public sealed class CancelDrop(ShelfDb db, TimeProvider clock)
{
    public Task<DropOutcome> RunAsync(YearMonth month, int revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => CancelAsync(month, revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> CancelAsync(YearMonth month, int revision, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop is null)
            return new DropOutcome.Missing();
        if (drop.State == DropState.Cancelled)
            return new DropOutcome.Done(null);
        if (drop.State == DropState.Sent)
            return new DropOutcome.Refused("", T("This drop is out. A version of it can be withdrawn on its own page."));
        if (drop.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        var rows = await db.DropReleases.Where(r => r.DropId == drop.Id).ToListAsync(cancellationToken);
        await BackToSealed.RunAsync(db, rows.ConvertAll(r => r.ReleaseId), clock.GetUtcNow(), cancellationToken);
        db.DropReleases.RemoveRange(rows);
        drop.State = DropState.Cancelled;
        (drop.IsAtOnce, drop.AsksSince, drop.MovedFrom) = (false, null, null);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }
}
