using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

public abstract record StopComparisonOutcome
{
    private StopComparisonOutcome() { }

    /// <summary>It is not to be gone on with; one that runs ends within a second or two.</summary>
    public sealed record Stopped : StopComparisonOutcome;

    /// <summary>Nothing was changed: it had ended, was stopped before, or was never to be done.</summary>
    public sealed record NotRunning(string Message) : StopComparisonOutcome;

    /// <summary>One of the two is not there.</summary>
    public sealed record NoSuchPair : StopComparisonOutcome;
}

/// <summary>
/// Stops the comparing of two versions that runs, or waits to be run. The row says so of the two folders as they are: nobody begins it again before the maker asks
/// or one of them changes. What was measured stays; of what was listened to nothing does. An older outcome for the same folders stays too.
/// </summary>
public sealed class StopComparison(ShelfDb db, TimeProvider clock)
{
    public async Task<StopComparisonOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        // A comparing that waits for its turn has not marked the folders yet.
        await FolderMarks.KeepAsync(db, [releaseId, fromReleaseId], cancellationToken);
        return await FreshEyes.LookAsync(db, () => StopAsync(releaseId, fromReleaseId, cancellationToken), FreshEyes.Never<StopComparisonOutcome>);
    }

    private async Task<StopComparisonOutcome> StopAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var marked = await FolderMarks.LoadAsync(db, [releaseId, fromReleaseId], cancellationToken);
        if (!marked.TryGetValue(releaseId, out var to) || !marked.TryGetValue(fromReleaseId, out var from))
            return new StopComparisonOutcome.NoSuchPair();
        var row = await db.ReleaseComparisons.FindAsync([releaseId, fromReleaseId], cancellationToken);
        var isWanted = (await new FindUncompared(db).RunAsync(cancellationToken, releaseId)).Contains((releaseId, fromReleaseId));
        if (!isWanted || FolderMarks.OfPair(from, to) is not { } mark)
            return new StopComparisonOutcome.NotRunning(row switch
            {
                { StoppedAt: not null } => T("It was stopped before, so nothing more was changed."),
                { ComparedAt: not null } => T("The comparing had ended before it could be stopped. What came of it is here."),
                _ => T("Nothing was being compared, so nothing was stopped."),
            });
        if (row is null)
            db.ReleaseComparisons.Add(row = new ReleaseComparison { ReleaseId = releaseId, FromReleaseId = fromReleaseId });
        if (row.OfFolders != mark)
            (row.Outcome, row.Summary, row.Generation, row.OfFolders) = ("", "", 0, mark);
        (row.AskedAt, row.StoppedAt, row.Trouble) = (null, clock.GetUtcNow(), null);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new StopComparisonOutcome.Stopped();
    }
}
