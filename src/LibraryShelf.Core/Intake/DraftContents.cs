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
    /// <summary>Why the contents can't change any more, in words for the maker; null while they can.</summary>
    public static string? WhyClosed(Release release)
    {
        if (release.State is not (ReleaseState.Draft or ReleaseState.Checked))
            return T($"Version {release.Number} is sealed, so its contents can’t change. Nothing was altered. Start a new version to send a changed folder.");
        return release.SealAskedAt is null
            ? null
            : T($"Version {release.Number} is being sealed, so its contents can’t change now. Nothing was altered. Wait until it is sealed and start a new version.");
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

    /// <summary>Keeps these blobs for the draft from now on.</summary>
    public static async Task ClaimAsync(
        ShelfDb db, long releaseId, IEnumerable<string> hashes, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var some in hashes.Distinct(StringComparer.Ordinal).Chunk(BlobRows.Batch))
        {
            var claimed = await db.BlobClaims.Where(c => c.ReleaseId == releaseId && some.Contains(c.Sha256)).ToListAsync(cancellationToken);
            foreach (var claim in claimed)
                claim.ClaimedAt = now;
            db.BlobClaims.AddRange(some.Except(claimed.Select(c => c.Sha256), StringComparer.Ordinal)
                .Select(hash => new BlobClaim { ReleaseId = releaseId, Sha256 = hash, ClaimedAt = now }));
        }
    }
}
