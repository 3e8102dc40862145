using System.Collections.Concurrent;
using Hangfire;
using Hangfire.Client;
using Hangfire.Common;
using Hangfire.Server;
using Hangfire.States;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Lets a job with the same arguments run once at a time on this machine: the sweep wakes whatever is not done, also work that
/// is under way. A wake-up that comes meanwhile is not lost: the job is queued once more when the run ends, because what it was woken for
/// may have been written after the run had looked. A failed job is not tried again by the queue; its row still says undone, so the
/// next sweep wakes it.
/// </summary>
internal sealed class OneAtATime : JobFilterAttribute, IServerFilter, IJobFilterProvider
{
    private const string Turn = "turn";

    /// <summary>Said outright: left to itself the queue takes the process's own, which log to whichever host was set up last, gone or not.</summary>
    private static readonly JobFilterAttributeFilterProvider OfItsClass = new();

    /// <summary>Made with the host: whatever of the queue's library is made later asks the process for its log, which may be that of a host that is gone.</summary>
    private readonly BackgroundJobFactory again = new(OfItsClass);
    private readonly BackgroundJobStateChanger moved = new(OfItsClass);

    /// <summary>What runs; true: it was woken again meanwhile.</summary>
    private readonly ConcurrentDictionary<string, bool> running = new(StringComparer.Ordinal);

    public IEnumerable<JobFilter> GetFilters(Job job) => [new JobFilter(this, JobFilterScope.Global, order: null)];

    public void OnPerforming(PerformingContext context)
    {
        var turn = JobName.Of(context.BackgroundJob.Job);
        while (!running.TryAdd(turn, false))
        {
            if (!running.TryUpdate(turn, true, false) && !running.ContainsKey(turn))
                continue;
            context.Canceled = true;
            return;
        }
        context.Items[Turn] = turn;
    }

    public void OnPerformed(PerformedContext context)
    {
        if (context.Items.TryGetValue(Turn, out var turn) && running.TryRemove((string)turn, out var isWoken) && isWoken)
            new BackgroundJobClient(context.Storage, again, moved).Create(context.BackgroundJob.Job, new EnqueuedState());
    }
}
