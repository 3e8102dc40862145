using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// A version that was sealed while it stands in a planned drop waits for it: it becomes scheduled, and a wish to publish it at once is taken back, because
/// the drop is the later word and nobody is to see a part of it before.
/// </summary>
public sealed class ScheduleSealed(ShelfDb db, TimeProvider clock)
{
    /// <returns>The drop it waits for, which may be due already and then asks; null: it stands in none, or is not sealed, and nothing was changed.</returns>
    public async Task<long?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // As it stands now: what this context read before the transaction may be older.
        db.ChangeTracker.Clear();
        var drop = await (
            from r in db.DropReleases
            where r.ReleaseId == releaseId
            join d in db.Drops on r.DropId equals d.Id
            where d.State == DropState.Planned
            select d).SingleOrDefaultAsync(cancellationToken);
        if (drop is null || await db.Releases.SingleOrDefaultAsync(r => r.Id == releaseId && r.State == ReleaseState.Sealed, cancellationToken) is not { } release)
            return null;
        var now = clock.GetUtcNow();
        release.MoveTo(ReleaseState.Scheduled, now);
        // Sealed days after the hour, it must not go out in the night by itself.
        drop.AskIfDue(now);
        release.PublishAfterSealFor = null;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return drop.Id;
    }
}
