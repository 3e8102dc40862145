using Hangfire.Common;
using Hangfire.Server;
using LibraryShelf.Core.Alerts;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// The boundary of every job. One that throws is logged, once, and raised as an alert; so is one that answers with words (it could not
/// do its work, and they say why). The next time the same job ends without either, the alert settles. Nothing is ever thrown from here:
/// the database that refuses the alert may be the very thing that failed.
/// </summary>
internal sealed class FailedJobs(IServiceScopeFactory scopes, ILogger<FailedJobs> log) : JobFilterAttribute, IServerFilter, IJobFilterProvider
{
    /// <summary>The longest a job's worker waits for the alert to be written.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    // Outermost: what the other filters do is seen here too.
    public IEnumerable<JobFilter> GetFilters(Job job) => [new JobFilter(this, JobFilterScope.Global, order: -1)];

    public void OnPerforming(PerformingContext context)
    {
    }

    public void OnPerformed(PerformedContext context)
    {
        // Canceled: the same job runs already, so nothing is known of it yet. Going down: the next start does it.
        if (context.Canceled || context.CancellationToken.ShutdownToken.IsCancellationRequested)
            return;
        var job = context.BackgroundJob.Job;
        var fault = context.Exception is JobPerformanceException { InnerException: { } inner } ? inner : context.Exception;
        if (fault is not null)
            log.LogError(fault, "{Job} failed", JobName.Of(job));
        using var patience = new CancellationTokenSource(Patience);
        var token = patience.Token;
        // The queue's filters are not asynchronous; its workers have threads of their own, which may wait.
        Task.Run(() => KeepAsync(job, fault, context.Result as string, token), CancellationToken.None).GetAwaiter().GetResult();
    }

    private async Task KeepAsync(Job job, Exception? fault, string? trouble, CancellationToken cancellationToken)
    {
        try
        {
            await using var scope = scopes.CreateAsyncScope();
            var services = scope.ServiceProvider;
            if (fault is null && trouble is null)
                await services.GetRequiredService<SettleAlert>().RunAsync(KindOf(job), JobName.Of(job), cancellationToken);
            else
                await services.GetRequiredService<RaiseAlert>().RunAsync(
                    KindOf(job), JobName.Of(job), trouble ?? await services.GetRequiredService<FaultWords>().OfAsync(job, cancellationToken), cancellationToken);
        }
#pragma warning disable CA1031 // Whatever keeps the alert from being written must not fail the job, nor hide its own fault.
        catch (Exception unwritten)
#pragma warning restore CA1031
        {
            log.LogError(unwritten, "The alert about {Job} could not be kept", JobName.Of(job));
        }
    }

    /// <summary>What fails at sending mail is not mailed, but shown only.</summary>
    private static AlertKind KindOf(Job job) => job.Type == typeof(MailJob) ? AlertKind.MailNotSent : AlertKind.JobFailed;
}
