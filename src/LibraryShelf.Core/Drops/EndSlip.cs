using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// A month does not slip any more, though its drop is not out: the shelf stops saying so, and letters still to be sent are left out. Who has theirs already is not told.
/// </summary>
public sealed class EndSlip(ShelfDb db)
{
    /// <param name="month">Which.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> that was looked at: it is said of that telling, and not of a newer one.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    /// <returns>Done also where it did not slip.</returns>
    public Task<DropOutcome> RunAsync(YearMonth month, int revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => EndAsync(month, revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> EndAsync(YearMonth month, int revision, CancellationToken cancellationToken)
    {
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop?.State == DropState.Sent)
            return new DropOutcome.Refused("", T("This drop is out, so it does not slip any more already."));
        if (drop?.SlippedAt is null)
            return new DropOutcome.Done(null);
        if (drop.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        (drop.SlippedAt, drop.SlippedBecause) = (null, "");
        drop.Revision++;
        // A month that nobody planned is as before; one that was called off keeps its words.
        if (drop is { State: DropState.Cancelled, Title: "", Note: "" })
            db.Drops.Remove(drop);
        await db.SaveChangesAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }
}
