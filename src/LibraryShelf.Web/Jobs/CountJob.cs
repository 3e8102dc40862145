using Hangfire;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Jobs;

/// <summary>Adds up download events that are not in the tallies yet, and rolls up the days they change.</summary>
[Queue(JobQueues.Now)]
public sealed class CountJob(CountDownloads count, RollUpDays rollUp)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await count.RunAsync(cancellationToken);
        await rollUp.RunAsync(cancellationToken);
    }
}
