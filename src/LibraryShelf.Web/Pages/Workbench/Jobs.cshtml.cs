using Hangfire;
using Hangfire.States;
using Hangfire.Storage;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Every job: what it does, how its last run went, when the next is, and a button that runs it now.</summary>
internal sealed class JobsModel(ReadJobRuns read, JobStorage queue, IBackgroundJobClient client, IOptions<ShelfSettings> settings, ShopView shop) : PageModel
{
    /// <summary>So many that wait are told apart in each queue; what waits behind them is counted only.</summary>
    private const int MostNamed = 1000;

    public IReadOnlyList<JobLine> Lines { get; private set; } = [];

    /// <summary>How far the backup that is being made is; null: none is, or it is being stopped.</summary>
    public Progress? Backup { get; private set; }

    /// <summary>How far counting anew is; null: nothing is counted anew.</summary>
    public CountingFar? Counting { get; private set; }

    public IReadOnlyList<ArchiveReading> Readings { get; private set; } = [];

    public IReadOnlyList<StoppedReading> StoppedReadings { get; private set; } = [];

    public bool IsUnderWay => Backup is not null || Counting is not null || Readings.Count > 0;

    /// <summary>Runs that were asked for and have not begun.</summary>
    public long Waiting { get; private set; }

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        var runs = await read.RunAsync(cancellationToken);
        var stopped = runs.Runs.GetValueOrDefault(nameof(BackupJob)) is { } backup && runs.BackupStoppedAt >= backup.StartedAt ? runs.BackupStoppedAt : null;
        // What is stopped is not shown to go on, though its last bytes may still be written.
        (Backup, Counting) = (stopped is null ? runs.Backup : null, runs.Counting);
        (Readings, StoppedReadings) = (runs.Readings, runs.StoppedReadings);
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
        var monitor = queue.GetMonitoringApi();
        var queues = monitor.Queues();
        Waiting = queues.Sum(q => q.Length);
        var waiting = queues.SelectMany(q => monitor.EnqueuedJobs(q.Name, 0, MostNamed)).CountBy(j => j.Value?.Job?.Type.Name ?? "").ToDictionary(StringComparer.Ordinal);
        using var connection = queue.GetConnection();
        var next = connection.GetRecurringJobs().ToDictionary(r => r.Id, r => r.NextExecution, StringComparer.Ordinal);
        Lines = [.. JobList.All(settings.Value).Select(job => new JobLine(
            job, runs.Runs.GetValueOrDefault(job.Name), NextOf(job, next),
            [.. runs.Standing.Where(a => a.Subject.StartsWith($"{job.Name}(", StringComparison.Ordinal)).Select(a => a.Words)], IsOff(job))
        {
            StoppedAt = job.Type == typeof(BackupJob) ? stopped : null,
            Waiting = waiting.GetValueOrDefault(job.Name),
        })];
    }

    public IActionResult OnPostRun(string job)
    {
        if (JobList.All(settings.Value).FirstOrDefault(j => j.Name == job && j.CanRunNow && !IsOff(j)) is not { } listed)
            return NotFound();
        client.Create(listed.Make(), new EnqueuedState());
        TempData["Said"] = T($"“{listed.Title}” was asked for. It runs as soon as it is its turn; open this page again to see how it went.");
        return Redirect("/workbench/jobs");
    }

    public async Task<IActionResult> OnPostStopBackupAsync([FromServices] StopBackup stop, CancellationToken cancellationToken)
    {
        TempData["Said"] = await stop.RunAsync(nameof(BackupJob), cancellationToken)
            ? T("The backup is stopped. Earlier ones are kept, and what was copied is not copied again. The next is made on its night, or when you press Run now.")
            : T("No backup was being made any more; nothing was stopped.");
        return Redirect("/workbench/jobs");
    }

    public async Task<IActionResult> OnPostStopReadingAsync(long archive, [FromServices] StopReading stop, CancellationToken cancellationToken)
    {
        if (!await stop.RunAsync(archive, cancellationToken))
            TempData["Said"] = ReadingWords.NothingToStop;
        return Redirect("/workbench/jobs");
    }

    public async Task<IActionResult> OnPostReadThroughAsync(long archive, [FromServices] AskForDigest ask, [FromServices] JobChain chain, CancellationToken cancellationToken)
    {
        var isAsked = await ask.RunAsync(archive, cancellationToken);
        if (isAsked)
            chain.DigestSoon(archive);
        TempData["Said"] = isAsked ? T("It is read through as soon as it is its turn.") : T("It is read through, or will be anyway; nothing was changed.");
        return Redirect("/workbench/jobs");
    }

    private bool IsOff(ListedJob job) => job.Type == typeof(BackupJob) && settings.Value.Backup.Directory.Length == 0;

    private DateTimeOffset? NextOf(ListedJob job, Dictionary<string, DateTime?> next) =>
        !IsOff(job) && job.Recurs is { } recurs && next.GetValueOrDefault(recurs.Id) is { } at ? new DateTimeOffset(DateTime.SpecifyKind(at, DateTimeKind.Utc)) : null;
}

/// <param name="Job">What it is.</param>
/// <param name="Last">Null: it has not run yet.</param>
/// <param name="Next">Null: when something wakes it.</param>
/// <param name="Standing">Failures that stand, in words: of one piece of its work, while the last run may have gone well.</param>
/// <param name="IsOff">It does nothing as the settings are.</param>
internal sealed record JobLine(ListedJob Job, JobRun? Last, DateTimeOffset? Next, IReadOnlyList<string> Standing, bool IsOff)
{
    /// <summary>The maker stopped its last run then; null: she did not.</summary>
    public DateTimeOffset? StoppedAt { get; init; }

    /// <summary>Runs of it that were asked for and have not begun.</summary>
    public int Waiting { get; init; }

    /// <summary>"3 s", "2 min": of a run that ended.</summary>
    public static string Took(JobRun run) => (run.EndedAt!.Value - run.StartedAt) switch
    {
        { TotalSeconds: < 1 } => T("less than a second"),
        { TotalMinutes: < 2 } span => T($"{span.TotalSeconds:0} s"),
        var span => T($"{span.TotalMinutes:0} min"),
    };
}
