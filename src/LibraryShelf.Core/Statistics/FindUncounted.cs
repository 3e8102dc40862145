using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>Whether some download event waits to be counted, one beyond the last that was (see <see cref="CountDownloads"/>), a day or a month to be rolled up, or somebody's versions to be worked out.</summary>
public sealed class FindUncounted(ShelfDb db, RollUpMonths months)
{
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        var last = await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;
        return await db.DownloadEvents.AnyAsync(e => e.Id > last, cancellationToken) || await db.DayRolls.AnyAsync(r => r.Rolled != r.Changed, cancellationToken)
            || await RollUpDays.IsOtherAsync(db, RollUpDays.ByOf(await MarkDays.ZoneAsync(db, cancellationToken)), cancellationToken)
            || await RollUpVersions.IsLeftAsync(db, cancellationToken)
            || await months.IsDueAsync(cancellationToken);
    }
}
