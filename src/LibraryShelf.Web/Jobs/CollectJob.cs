using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Removes update archives nobody fetched, and the bytes that nothing has used for a week; some times a day, because looking through the store takes a while.</summary>
public sealed class CollectJob(DropUnusedUpdates dropUpdates, CollectBlobs collect)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await dropUpdates.RunAsync(cancellationToken);
        await collect.RunAsync(cancellationToken);
    }
}
