using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Gives the ring a new key and retires every older one. Links already made, and downloads in progress, go on: a retired key
/// verifies until no link of its can be alive.
/// </summary>
/// <remarks>
/// Two steps, so that it needs no lock on either database. The new key signs as soon as it is there, because the newest does; what
/// a crash, or another rotation at the same moment, leaves unretired behind it only verifies, and the next call retires it.
/// </remarks>
public sealed class RotateLinkKey(ShelfDb db, TimeProvider clock)
{
    /// <returns>The id of the key made. It is no secret: every link carries it.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var key = LinkKey.Make(clock.GetUtcNow());
        db.LinkKeys.Add(key);
        await db.SaveChangesAsync(cancellationToken);
        await LinkKeyRing.RetireOlderAsync(db, key.Id, clock.GetUtcNow(), cancellationToken);
        return key.Id;
    }
}
