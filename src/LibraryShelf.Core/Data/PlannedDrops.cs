using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>Which versions a planned drop waits to bring. Asked before the steps that know drops, so it stands with the data.</summary>
internal static class PlannedDrops
{
    /// <returns>"December 2026", the month of the planned drop the version stands in; null: it stands in none.</returns>
    public static async Task<string?> MonthOfAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken) => (await (
        from r in db.DropReleases
        where r.ReleaseId == releaseId
        join d in db.Drops on r.DropId equals d.Id
        where d.State == DropState.Planned
        select d).AsNoTracking().SingleOrDefaultAsync(cancellationToken))?.MonthName;
}
