using Hangfire;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Every recurring job, one line each. The sweep and the watch, at start and each minute; collecting unused bytes, four times a day; the
/// reading again, the look at the payment provider and the forgetting, at start and each day.
/// </summary>
internal sealed class RecurringJobs(IRecurringJobManager recurring, IBackgroundJobClient jobs) : IHostedService
{
    public Task StartAsync(CancellationToken cancellationToken)
    {
        recurring.AddOrUpdate<SweepJob>("sweep", job => job.RunAsync(CancellationToken.None), Cron.Minutely);
        recurring.AddOrUpdate<CollectJob>("collect", job => job.RunAsync(CancellationToken.None), "23 */6 * * *");
        jobs.Enqueue<SweepJob>(job => job.RunAsync(CancellationToken.None));
        recurring.AddOrUpdate<WatchJob>("watch", job => job.RunAsync(CancellationToken.None), Cron.Minutely);
        jobs.Enqueue<WatchJob>(job => job.RunAsync(CancellationToken.None));
        recurring.AddOrUpdate<ReadAgainJob>("read again", job => job.RunAsync(CancellationToken.None), Cron.Daily);
        jobs.Enqueue<ReadAgainJob>(job => job.RunAsync(CancellationToken.None));
        recurring.AddOrUpdate<ReconcileJob>("reconcile", job => job.RunAsync(CancellationToken.None), Cron.Daily(4));
        jobs.Enqueue<ReconcileJob>(job => job.RunAsync(CancellationToken.None));
        recurring.AddOrUpdate<ForgetJob>("forget", job => job.RunAsync(CancellationToken.None), Cron.Daily(3));
        jobs.Enqueue<ForgetJob>(job => job.RunAsync(CancellationToken.None));
        return Task.CompletedTask;
    }

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}
