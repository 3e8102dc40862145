using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Storage;

/// <summary>
/// How a step comes to rely on a blob without losing it to the collector (<c>Sealing/CollectBlobs</c>). Whoever is about to use a
/// blob's row steps its date first. The collector takes only rows whose date is a week old and asks again under the row's
/// lock, so one of two things is true: the step came first, and the row stays for a week, time enough to write the line that
/// keeps it; or the collector came first, and the step no longer sees the row and takes the bytes as new. The bytes follow the
/// same rule (<see cref="IBlobStore.Remove"/>): a store that is given bytes it already has steps their date too.
/// </summary>
internal static class BlobRows
{
    /// <summary>Rows asked about at once; SQLite takes 32,766 parameters, other databases fewer.</summary>
    public const int Batch = 500;

    /// <summary>How long a blob is kept that nothing uses; a draft discarded by mistake need not be sent again.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromDays(7);

    /// <summary>A date that is this fresh is fresh enough; the same folder planned again then writes nothing.</summary>
    private static readonly TimeSpan Fresh = TimeSpan.FromDays(1);

    /// <summary>Keeps those of <paramref name="hashes"/> that the shelf holds for at least six more days, and answers them.</summary>
    public static async Task<Dictionary<string, Blob>> HoldAsync(
        ShelfDb db, IEnumerable<string> hashes, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var held = new Dictionary<string, Blob>(StringComparer.Ordinal);
        var stale = now - Fresh;
        foreach (var some in hashes.Distinct(StringComparer.Ordinal).Chunk(Batch))
        {
            await db.Blobs.Where(b => some.Contains(b.Sha256) && b.StoredAt < stale)
                .ExecuteUpdateAsync(b => b.SetProperty(x => x.StoredAt, now), cancellationToken);
            foreach (var blob in await db.Blobs.AsNoTracking().Where(b => some.Contains(b.Sha256)).ToListAsync(cancellationToken))
                held[blob.Sha256] = blob;
        }
        return held;
    }

    /// <summary>Says in the database that the store holds these bytes; they must be there durably.</summary>
    public static async Task RecordAsync(ShelfDb db, IReadOnlyCollection<StoredBytes> stored, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var held = await HoldAsync(db, stored.Select(s => s.Sha256), now, cancellationToken);
        db.Blobs.AddRange(stored.DistinctBy(s => s.Sha256).Where(s => !held.ContainsKey(s.Sha256))
            .Select(s => new Blob { Sha256 = s.Sha256, Size = s.Size, Crc32 = s.Crc32, StoredAt = now }));
    }
}
