using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>The versions of a month that is fetched as one archive.</summary>
internal static class MonthVersions
{
    /// <summary>Those withdrawn.</summary>
    public static IQueryable<Release> Withdrawn(ShelfDb db, long dropId) => db.Releases
        .Where(r => r.State == ReleaseState.Withdrawn && db.DropReleases.Any(d => d.DropId == dropId && d.ReleaseId == r.Id));

    public static Task<bool> AnyWithdrawnAsync(ShelfDb db, long dropId, CancellationToken cancellationToken) => Withdrawn(db, dropId).AnyAsync(cancellationToken);
}
