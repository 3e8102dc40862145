using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

public enum AskForComparisonOutcome
{
    /// <summary>The wish is written (or was before); wake the comparison.</summary>
    Asked,
    /// <summary>The version is a draft whose folder is not checked: what differs is not known before.</summary>
    NotChecked,
    /// <summary>One of the two is not there, or the other one is not sealed or of another library.</summary>
    NoSuchPair,
}

/// <summary>Writes down the maker's wish to hold a version against another one, also when they were compared before, or she stopped that.</summary>
public sealed class AskForComparison(ShelfDb db, TimeProvider clock)
{
    public Task<AskForComparisonOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, () => AskAsync(releaseId, fromReleaseId, cancellationToken), FreshEyes.Never<AskForComparisonOutcome>);

    private async Task<AskForComparisonOutcome> AskAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Where(r => r.Id == releaseId).Select(r => new { r.LibraryId, r.State }).FirstOrDefaultAsync(cancellationToken);
        if (release is null || releaseId == fromReleaseId
            || !await db.Releases.AnyAsync(r => r.Id == fromReleaseId && r.LibraryId == release.LibraryId && r.SealedAt != null, cancellationToken))
            return AskForComparisonOutcome.NoSuchPair;
        if (release.State == ReleaseState.Draft)
            return AskForComparisonOutcome.NotChecked;
        var row = await db.ReleaseComparisons.FindAsync([releaseId, fromReleaseId], cancellationToken);
        if (row is null)
            db.ReleaseComparisons.Add(row = new ReleaseComparison { ReleaseId = releaseId, FromReleaseId = fromReleaseId });
        // A job that began before may be at work on an older folder: it takes back only the wish that it began with.
        (row.AskedAt, row.StoppedAt) = (clock.GetUtcNow(), null);
        await db.SaveChangesAsync(cancellationToken);
        return AskForComparisonOutcome.Asked;
    }
}
