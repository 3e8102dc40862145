using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Wakes the reading of archives that could not be read through: at start and each day, because a disk may have been mended meanwhile. Not
/// with the sweep, which would read gigabytes in vain each minute; and not where the maker stopped the reading.
/// </summary>
public sealed class ReadAgainJob(ShelfDb db, JobChain chain)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        foreach (var id in await db.Archives.Where(a => a.Sha256 == null && a.Trouble != null && a.ReadStoppedAt == null).Select(a => a.Id).ToListAsync(cancellationToken))
            chain.DigestSoon(id);
    }
}
