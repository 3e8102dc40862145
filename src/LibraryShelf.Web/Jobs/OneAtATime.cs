using System.Collections.Concurrent;
using Hangfire.Common;
using Hangfire.Server;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Lets a job with the same arguments run once at a time on this machine: the sweep wakes whatever is not done, also work that
/// is under way, and a second run then ends at once. A failed job is not tried again by the queue; its row still says
/// undone, so the next sweep wakes it.
/// </summary>
internal sealed class OneAtATime : JobFilterAttribute, IServerFilter, IJobFilterProvider
{
    private const string Turn = "turn";
    private readonly ConcurrentDictionary<string, bool> running = new(StringComparer.Ordinal);

    public IEnumerable<JobFilter> GetFilters(Job job) => [new JobFilter(this, JobFilterScope.Global, order: null)];

    public void OnPerforming(PerformingContext context)
    {
        var job = context.BackgroundJob.Job;
        var turn = $"{job.Type.Name}({string.Join(',', job.Args.Where(a => a is string or long))})";
        if (running.TryAdd(turn, true))
            context.Items[Turn] = turn;
        else
            context.Canceled = true;
    }

    public void OnPerformed(PerformedContext context)
    {
        if (context.Items.TryGetValue(Turn, out var turn))
            running.TryRemove((string)turn, out _);
    }
}
