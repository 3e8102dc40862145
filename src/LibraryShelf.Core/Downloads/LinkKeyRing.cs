using System.Security.Cryptography;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>The keys that sign links. The newest unretired one signs; a retired one verifies until no link of its can be alive.</summary>
internal sealed class LinkKeyRing(ShelfDb db, TimeProvider clock)
{
    private const int SecretBytes = 32; // the output length of SHA-256: RFC 2104 §3

    /// <summary>The longest a link can live under any setting, so that shortening the setting breaks no link already made.</summary>
    public static readonly TimeSpan LongestLife =
        TimeSpan.FromMinutes(LinkSettings.MaxStartMinutes) + TimeSpan.FromHours(LinkSettings.MaxResumeHours);

    /// <summary>
    /// The key to sign with. On an empty ring the first key is made; should two makers meet, both keys stay and both verify,
    /// so the race does no harm.
    /// </summary>
    public async Task<LinkKey> SigningKeyAsync(CancellationToken cancellationToken)
    {
        var newest = await NewestAsync(cancellationToken);
        if (newest is not null) return newest;
        db.LinkKeys.Add(new LinkKey { Secret = RandomNumberGenerator.GetBytes(SecretBytes), CreatedAt = clock.GetUtcNow() });
        await db.SaveChangesAsync(cancellationToken);
        return await NewestAsync(cancellationToken) ?? throw new InvalidOperationException("The link key just made is not there.");
    }

    /// <summary>The key to verify with; null when there is none of this id or it has been retired for longer than a link lives.</summary>
    public async Task<LinkKey?> VerifyingKeyAsync(int id, CancellationToken cancellationToken)
    {
        var key = await db.LinkKeys.AsNoTracking().FirstOrDefaultAsync(k => k.Id == id, cancellationToken);
        return key?.RetiredAt + LongestLife <= clock.GetUtcNow() ? null : key;
    }

    private Task<LinkKey?> NewestAsync(CancellationToken cancellationToken) =>
        db.LinkKeys.AsNoTracking().Where(k => k.RetiredAt == null).OrderByDescending(k => k.Id).FirstOrDefaultAsync(cancellationToken);
}
