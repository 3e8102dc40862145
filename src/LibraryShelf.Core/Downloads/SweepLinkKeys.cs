using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Keeps the ring young and short: rotates when the key that signs is older than <see cref="LinkSettings.RotateDays"/>, retires
/// what a rotation cut short left behind, and removes retired keys once no link of theirs can be alive.
/// </summary>
public sealed class SweepLinkKeys(ShelfDb db, RotateLinkKey rotate, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var newest = await db.LinkKeys.Where(k => k.RetiredAt == null).OrderByDescending(k => k.Id)
            .Select(k => new { k.Id, k.CreatedAt }).FirstOrDefaultAsync(cancellationToken);
        // An empty ring stays empty: the first link makes the first key.
        if (newest is null) return;
        if (newest.CreatedAt + TimeSpan.FromDays(settings.Value.Links.RotateDays) <= now) await rotate.RunAsync(cancellationToken);
        else await LinkKeyRing.RetireOlderAsync(db, newest.Id, now, cancellationToken);
        var ended = now - LinkKeyRing.RetiredLife;
        await db.LinkKeys.Where(k => k.RetiredAt <= ended).ExecuteDeleteAsync(cancellationToken);
    }
}
