using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>Closes every link of one person that still opens; links made later are not touched.</summary>
public sealed class RevokePersonsDownloads(ShelfDb db, TimeProvider clock)
{
    /// <returns>How many links were closed.</returns>
    public async Task<int> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Downloads.Where(d => d.PersonId == personId).Where(Download.IsOpenAt(now))
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken);
    }
}
