using Hangfire.Common;
using Hangfire.Server;
using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Setup.Metering;

/// <summary>Measures each run of a job. Innermost, as <see cref="JobRunNotes"/> is: a wake-up that was passed over is no run.</summary>
internal sealed class JobMeter(ShelfMeter meter) : JobFilterAttribute, IServerFilter, IJobFilterProvider
{
    private const string Started = "metered";

    public IEnumerable<JobFilter> GetFilters(Job job) => [new JobFilter(this, JobFilterScope.Global, order: 2)];

    public void OnPerforming(PerformingContext context) => context.Items[Started] = TimeProvider.System.GetTimestamp();

    public void OnPerformed(PerformedContext context)
    {
        if (!context.Canceled && context.Items.TryGetValue(Started, out var at) && at is long started)
            meter.Ran(context.BackgroundJob.Job.Type, TimeProvider.System.GetElapsedTime(started), context.Exception is not null || context.Result is string);
    }
}
