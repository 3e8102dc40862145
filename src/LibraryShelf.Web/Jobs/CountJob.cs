using Hangfire;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Adds up download events that are not in the tallies yet, rolls up the days, months and drops they change, and works out who has which version by them.
/// </summary>
[Queue(JobQueues.Now)]
public sealed class CountJob(CountDownloads count, RollUpDays rollUp, RollUpMonths months, RollUpDrops rollUpDrops, RollUpVersions versions, JobChain chain)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await count.RunAsync(cancellationToken);
        await rollUp.RunAsync(cancellationToken);
        await months.RunAsync(cancellationToken);
        await rollUpDrops.RunAsync(cancellationToken);
        // What came meanwhile is counted first, then it goes on.
        if (!await versions.RunAsync(cancellationToken))
            chain.CountSoon();
    }
}
