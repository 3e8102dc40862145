using System.Collections.Concurrent;
using Hangfire.Common;
using Hangfire.Server;
using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Notes the last run of each job, by its class, for the page that lists them. A job that runs often is noted once a minute, unless it fails or
/// did so before. Innermost, so that a wake-up that was passed over counts as no run. Nothing is ever thrown from here.
/// </summary>
internal sealed class JobRunNotes(IServiceScopeFactory scopes, TimeProvider clock, ILogger<JobRunNotes> log) : JobFilterAttribute, IServerFilter, IJobFilterProvider
{
    private const string Started = "started";

    private static readonly TimeSpan Often = TimeSpan.FromMinutes(1);

    /// <summary>The longest a job's worker waits for its note.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <summary>These run each minute and briefly: their end says it all.</summary>
    private static readonly HashSet<Type> Brief = [typeof(SweepJob), typeof(WatchJob)];

    private readonly ConcurrentDictionary<string, (DateTimeOffset At, bool IsFailed)> last = new(StringComparer.Ordinal);

    public IEnumerable<JobFilter> GetFilters(Job job) => [new JobFilter(this, JobFilterScope.Global, order: 1)];

    public void OnPerforming(PerformingContext context)
    {
        var (name, now) = (context.BackgroundJob.Job.Type.Name, clock.GetUtcNow());
        var isNoted = !last.TryGetValue(name, out var before) || before.IsFailed || now - before.At >= Often;
        context.Items[Started] = (now, isNoted);
        if (!isNoted)
            return;
        last[name] = (now, before.IsFailed);
        if (!Brief.Contains(context.BackgroundJob.Job.Type))
            Note(name, (_, _) => Task.FromResult(new JobRun { Name = name, StartedAt = now }));
    }

    public void OnPerformed(PerformedContext context)
    {
        // Going down: the next start says what became of it.
        if (context.Canceled || context.CancellationToken.ShutdownToken.IsCancellationRequested || context.Items[Started] is not (DateTimeOffset started, bool isNoted))
            return;
        var job = context.BackgroundJob.Job;
        var isFailed = context.Exception is not null || context.Result is string;
        if (!isNoted && !isFailed)
            return;
        last[job.Type.Name] = (started, isFailed);
        Note(job.Type.Name, async (services, cancellationToken) => new JobRun
        {
            Name = job.Type.Name, StartedAt = started, EndedAt = clock.GetUtcNow(),
            Trouble = context.Exception is not null ? await services.GetRequiredService<FaultWords>().OfAsync(job, cancellationToken) : context.Result as string,
        });
    }

    private void Note(string name, Func<IServiceProvider, CancellationToken, Task<JobRun>> make)
    {
        using var patience = new CancellationTokenSource(Patience);
        var token = patience.Token;
        // The queue's filters are not asynchronous; its workers have threads of their own, which may wait.
        Task.Run(() => NoteAsync(name, make, token), CancellationToken.None).GetAwaiter().GetResult();
    }

    private async Task NoteAsync(string name, Func<IServiceProvider, CancellationToken, Task<JobRun>> make, CancellationToken cancellationToken)
    {
        try
        {
            await using var scope = scopes.CreateAsyncScope();
            await scope.ServiceProvider.GetRequiredService<NoteJobRun>().RunAsync(await make(scope.ServiceProvider, cancellationToken), cancellationToken);
        }
#pragma warning disable CA1031 // Whatever keeps the note from being written must not fail the job.
        catch (Exception unwritten)
#pragma warning restore CA1031
        {
            log.LogWarning(unwritten, "The last run of {Job} could not be noted", name);
        }
    }
}
