using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// Countries change the rules of their clocks, and an update of the program brings the new ones: the instant of each planned drop is worked out anew from its day,
/// time and zone, which are what its maker means. What has come due already, or goes out at once, is left alone.
/// </summary>
public sealed class ReckonDropHours(ShelfDb db, TimeProvider clock)
{
    /// <summary>No rule moves an hour farther (Samoa left out a day, 30 December 2011). What differs by more was not meant by day and time.</summary>
    private static readonly TimeSpan Farthest = TimeSpan.FromHours(26);

    /// <returns>How many drops got another instant.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var moved = 0;
        foreach (var drop in await db.Drops.AsNoTracking().Where(d => d.State == DropState.Planned && !d.IsAtOnce && d.DueAt > now).ToListAsync(cancellationToken))
        {
            if (DropForm.Of(drop).DueIn(drop.Month) is not { } due || due == drop.DueAt || (due - drop.DueAt).Duration() > Farthest)
                continue;
            // Changed back before anybody went by it, nothing has moved.
            var from = drop.MovedFrom ?? drop.DueAt;
            DateTimeOffset? movedFrom = from == due ? null : from;
            moved += await db.Drops.Where(d => d.Id == drop.Id && d.Revision == drop.Revision).ExecuteUpdateAsync(
                s => s.SetProperty(d => d.DueAt, due).SetProperty(d => d.MovedFrom, movedFrom).SetProperty(d => d.Revision, d => d.Revision + 1), cancellationToken);
        }
        return moved;
    }
}
