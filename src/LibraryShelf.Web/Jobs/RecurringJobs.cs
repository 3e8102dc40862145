using Hangfire;
using Hangfire.States;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Jobs;

/// <summary>Sets up what recurs, as <see cref="JobList"/> says, and queues what runs at start.</summary>
internal sealed class RecurringJobs(IRecurringJobManager recurring, IBackgroundJobClient jobs, IServiceScopeFactory scopes, IOptions<ShelfSettings> settings) : IHostedService
{
    public async Task StartAsync(CancellationToken cancellationToken)
    {
        await using (var scope = scopes.CreateAsyncScope())
        {
            await scope.ServiceProvider.GetRequiredService<EndBrokenRuns>().RunAsync(cancellationToken);
            // Before any job runs: what is due by a clock that jumped must ask by then, and what is due by rules that changed is due otherwise.
            await scope.ServiceProvider.GetRequiredService<WatchClock>().RunAsync(cancellationToken);
            await scope.ServiceProvider.GetRequiredService<ReckonDropHours>().RunAsync(cancellationToken);
        }
        foreach (var job in JobList.All(settings.Value))
        {
            if (job.Recurs is not { } recurs)
                continue;
            recurring.AddOrUpdate(recurs.Id, job.Make(), recurs.Cron, new RecurringJobOptions());
            if (recurs.IsAtStart)
                jobs.Create(job.Make(), new EnqueuedState());
        }
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
