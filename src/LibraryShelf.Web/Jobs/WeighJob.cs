using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Works out the updates between a library's sealed versions.</summary>
public sealed class WeighJob(WeighUpdates weigh)
{
    public Task RunAsync(long releaseId, CancellationToken cancellationToken) => weigh.RunAsync(releaseId, cancellationToken);
}
