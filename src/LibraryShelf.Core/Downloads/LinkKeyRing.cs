using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>The keys that sign links. The newest unretired one signs; a retired one verifies until no link of its can be alive.</summary>
internal sealed class LinkKeyRing(ShelfDb db, TimeProvider clock)
{
    /// <summary>The longest a link can live under any setting, so that shortening the setting breaks no link already made.</summary>
    public static readonly TimeSpan LongestLife =
        TimeSpan.FromMinutes(LinkSettings.MaxStartMinutes) + TimeSpan.FromHours(LinkSettings.MaxResumeHours);

    /// <summary>
    /// How long a retired key verifies: a link's longest life, and some minutes for a link whose maker had read the key just before
    /// it was retired.
    /// </summary>
    public static readonly TimeSpan RetiredLife = LongestLife + TimeSpan.FromMinutes(10);

    /// <summary>
    /// The key to sign with. On an empty ring the first key is made; should two makers meet, both keys stay and both verify,
    /// so the race does no harm.
    /// </summary>
    public async Task<LinkKey> SigningKeyAsync(CancellationToken cancellationToken)
    {
        var newest = await NewestAsync(cancellationToken);
        if (newest is not null) return newest;
        db.LinkKeys.Add(LinkKey.Make(clock.GetUtcNow()));
        await db.SaveChangesAsync(cancellationToken);
        return await NewestAsync(cancellationToken) ?? throw new InvalidOperationException("The link key just made is not there.");
    }

    /// <summary>Whether a key of the ring still verifies: not when it has been retired for longer than a link lives.</summary>
    public static bool Verifies(LinkKey key, DateTimeOffset now) => key.RetiredAt is not { } retired || retired + RetiredLife > now;

    /// <summary>Retires every key older than the newest one that signs; <paramref name="newId"/> or one made since.</summary>
    public static Task RetireOlderAsync(ShelfDb db, int newId, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.LinkKeys
            .Where(k => k.RetiredAt == null && (k.Id < newId || db.LinkKeys.Any(other => other.RetiredAt == null && other.Id > k.Id)))
            .ExecuteUpdateAsync(s => s.SetProperty(k => k.RetiredAt, now), cancellationToken);

    private Task<LinkKey?> NewestAsync(CancellationToken cancellationToken) =>
        db.LinkKeys.AsNoTracking().Where(k => k.RetiredAt == null).OrderByDescending(k => k.Id).FirstOrDefaultAsync(cancellationToken);
}
