using Hangfire;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Jobs;

/// <summary>Adds up download events that are not in the tallies yet.</summary>
[Queue(JobQueues.Now)]
public sealed class CountJob(CountDownloads count)
{
    public Task RunAsync(CancellationToken cancellationToken) => count.RunAsync(cancellationToken);
}
