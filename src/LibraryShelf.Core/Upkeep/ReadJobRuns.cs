using System.Globalization;
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

    /// <summary>Archives that are being read through now, whole libraries, updates and months alike.</summary>
    public IReadOnlyList<ArchiveReading> Readings { get; init; } = [];

    /// <summary>Those whose reading the maker stopped and has not asked for since.</summary>
    public IReadOnlyList<StoppedReading> StoppedReadings { get; init; } = [];

    /// <summary>How far counting anew is; null: nothing is counted anew.</summary>
    public CountingFar? Counting { get; init; }
}

/// <param name="ArchiveId">Which.</param>
/// <param name="FileName">What it is called.</param>
/// <param name="Far">In bytes.</param>
public sealed record ArchiveReading(long ArchiveId, string FileName, Progress Far);

public sealed record StoppedReading(long ArchiveId, string FileName, DateTimeOffset At);

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
        Readings = await ReadingsAsync(cancellationToken),
        StoppedReadings = await db.Archives.Where(a => a.Sha256 == null && a.ReadStoppedAt != null).OrderBy(a => a.FileName).ThenBy(a => a.Id)
            .Select(a => new StoppedReading(a.Id, a.FileName, a.ReadStoppedAt!.Value)).ToListAsync(cancellationToken),
    };

    private async Task<List<ArchiveReading>> ReadingsAsync(CancellationToken cancellationToken)
    {
        var far = new Dictionary<long, Progress>();
        foreach (var row in await db.WorkProgress.AsNoTracking().Where(p => p.Name.StartsWith(ProgressNotes.Digests)).ToListAsync(cancellationToken))
            if (long.TryParse(row.Name[ProgressNotes.Digests.Length..], NumberStyles.None, CultureInfo.InvariantCulture, out var id))
                far[id] = Progress.OfBytes(row.DoneBytes, row.TotalBytes);
        // What is stopped is not shown to go on, though it may still be reading its last bytes.
        var archives = await db.Archives.Where(a => far.Keys.Contains(a.Id) && a.Sha256 == null && a.ReadStoppedAt == null)
            .OrderBy(a => a.FileName).ThenBy(a => a.Id).Select(a => new { a.Id, a.FileName }).ToListAsync(cancellationToken);
        return archives.ConvertAll(a => new ArchiveReading(a.Id, a.FileName, far[a.Id]));
    }
}
