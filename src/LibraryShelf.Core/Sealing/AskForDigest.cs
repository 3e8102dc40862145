using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Asks that an archive be read through once more, when the last reading said that it can't be, or the maker stopped it. What the last one said stands until
/// this one goes well, so that nothing known to be damaged is published meanwhile.
/// </summary>
public sealed class AskForDigest(ShelfDb db, TimeProvider clock)
{
    /// <returns>True: wake its reading. False: it is read, or is to be read anyway; nothing was changed.</returns>
    public async Task<bool> RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        // The sweep wakes it too, should this wake-up be lost.
        return await db.Archives.Where(a => a.Id == archiveId && a.Sha256 == null && (a.ReadStoppedAt != null || (a.Trouble != null && a.ReadAskedAt == null)))
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.ReadAskedAt, now).SetProperty(a => a.ReadStoppedAt, (DateTimeOffset?)null), cancellationToken) > 0;
    }
}
