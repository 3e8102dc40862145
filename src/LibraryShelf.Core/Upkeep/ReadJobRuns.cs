using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <param name="Runs">The last run of each job, by its name.</param>
/// <param name="Standing">Failures that stand, newest first: of one piece of work, while the job's other work may go well.</param>
public sealed record JobRuns(IReadOnlyDictionary<string, JobRun> Runs, IReadOnlyList<Alert> Standing)
{
    /// <summary>How far the backup that is being made is, in bytes; null: none is being made.</summary>
    public Progress? Backup { get; init; }

    /// <summary>When the maker stopped one; null: she did not, or one was made since.</summary>
    public DateTimeOffset? BackupStoppedAt { get; init; }

    /// <summary>How far counting anew is; null: nothing is counted anew.</summary>
    public CountingFar? Counting { get; init; }
}

/// <summary>How each job's last run went, for the workbench.</summary>
public sealed class ReadJobRuns(ShelfDb db)
{
    public async Task<JobRuns> RunAsync(CancellationToken cancellationToken) => new(
        await db.JobRuns.AsNoTracking().ToDictionaryAsync(r => r.Name, StringComparer.Ordinal, cancellationToken),
        await db.Alerts.AsNoTracking().Where(a => a.SettledAt == null && (a.Kind == AlertKind.JobFailed || a.Kind == AlertKind.MailNotSent))
            .OrderByDescending(a => a.LastSeenAt).ThenByDescending(a => a.Id).ToListAsync(cancellationToken))
    {
        Backup = await ProgressNotes.ReadAsync(db, ProgressNotes.Backup, cancellationToken),
        BackupStoppedAt = await db.Shops.Select(s => s.BackupStoppedAt).SingleOrDefaultAsync(cancellationToken),
        Counting = await new ReadCounting(db).RunAsync(cancellationToken),
    };
}
