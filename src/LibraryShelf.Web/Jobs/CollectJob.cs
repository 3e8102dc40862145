using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Removes the bytes that nothing has used for a week; some times a day, because looking through the store takes a while.</summary>
public sealed class CollectJob(CollectBlobs collect)
{
    public Task RunAsync(CancellationToken cancellationToken) => collect.RunAsync(cancellationToken);
}
