using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// What a draft holds, changed in one way only: every change puts a checked release back to draft, drops a check asked for
/// the old contents, and steps the revision, so that a check or a sealing that read the old contents can't commit.
/// All members expect the caller's transaction.
/// </summary>
internal static class DraftContents
{
    /// <summary>Rows asked about at once; SQLite takes 32,766 parameters, other databases fewer.</summary>
    private const int Batch = 500;

    /// <summary>Why the contents can't change any more, in words for the maker; null while they can.</summary>
    public static string? WhyClosed(Release release)
    {
        if (release.State is not (ReleaseState.Draft or ReleaseState.Checked))
            return $"Version {release.Number} is sealed, so its contents can't change. Nothing was altered. Start a new version to send a changed folder.";
        return release.SealAskedAt is null
            ? null
            : $"Version {release.Number} is being sealed, so its contents can't change now. Nothing was altered. Wait until it is sealed and start a new version.";
    }

    public static void Changed(Release release, DateTimeOffset now)
    {
        if (release.State == ReleaseState.Checked)
            release.MoveTo(ReleaseState.Draft, now);
        release.CheckAskedAt = null;
        release.Trouble = null;
        release.CheckDone = release.CheckTotal = 0;
        release.Revision++;
    }

    /// <summary>Makes <paramref name="lines"/> the whole manifest; writes only what differs.</summary>
    public static async Task ReplaceAsync(ShelfDb db, long releaseId, IEnumerable<ReleaseFile> lines, CancellationToken cancellationToken)
    {
        var old = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId).ToDictionaryAsync(f => f.Path, StringComparer.Ordinal, cancellationToken);
        foreach (var line in lines)
        {
            if (!old.Remove(line.Path, out var kept))
                db.ReleaseFiles.Add(line);
            else
                (kept.Sha256, kept.Size) = (line.Sha256, line.Size);
        }
        db.ReleaseFiles.RemoveRange(old.Values);
    }

    /// <summary>The blobs among <paramref name="hashes"/> that the shelf holds.</summary>
    public static async Task<Dictionary<string, Blob>> HeldAsync(ShelfDb db, IEnumerable<string> hashes, CancellationToken cancellationToken)
    {
        var held = new Dictionary<string, Blob>(StringComparer.Ordinal);
        foreach (var some in hashes.Distinct(StringComparer.Ordinal).Chunk(Batch))
            foreach (var blob in await db.Blobs.AsNoTracking().Where(b => some.Contains(b.Sha256)).ToListAsync(cancellationToken))
                held[blob.Sha256] = blob;
        return held;
    }

    /// <summary>Keeps these blobs for the draft from now on.</summary>
    public static async Task ClaimAsync(
        ShelfDb db, long releaseId, IEnumerable<string> hashes, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var some in hashes.Distinct(StringComparer.Ordinal).Chunk(Batch))
        {
            var claimed = await db.BlobClaims.Where(c => c.ReleaseId == releaseId && some.Contains(c.Sha256)).ToListAsync(cancellationToken);
            foreach (var claim in claimed)
                claim.ClaimedAt = now;
            db.BlobClaims.AddRange(some.Except(claimed.Select(c => c.Sha256), StringComparer.Ordinal)
                .Select(hash => new BlobClaim { ReleaseId = releaseId, Sha256 = hash, ClaimedAt = now }));
        }
    }

    /// <summary>Says in the database that the store holds these bytes; they must be there durably.</summary>
    public static async Task RecordAsync(ShelfDb db, IReadOnlyCollection<StoredBytes> stored, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var held = await HeldAsync(db, stored.Select(s => s.Sha256), cancellationToken);
        db.Blobs.AddRange(stored.DistinctBy(s => s.Sha256).Where(s => !held.ContainsKey(s.Sha256))
            .Select(s => new Blob { Sha256 = s.Sha256, Size = s.Size, Crc32 = s.Crc32, StoredAt = now }));
    }
}
