using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>In which drop a version stands; null: in none, or in one that was called off.</summary>
public sealed class FindDropOf(ShelfDb db)
{
    public Task<Drop?> RunAsync(long releaseId, CancellationToken cancellationToken) => (
        from r in db.DropReleases
        where r.ReleaseId == releaseId
        join d in db.Drops on r.DropId equals d.Id
        where d.State != DropState.Cancelled
        select d).AsNoTracking().SingleOrDefaultAsync(cancellationToken);
}
