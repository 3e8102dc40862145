using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Whether a backup is due besides the nightly one: a night was missed, because the shelf was down at its hour or it was in vain, or there is none yet. Then it
/// is tried once an hour.
/// </summary>
public sealed class FindBackupDue(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>An hour longer than from one night's to the next, which takes its time.</summary>
    internal static readonly TimeSpan Missed = TimeSpan.FromHours(25);

    private static readonly TimeSpan BetweenTries = TimeSpan.FromHours(1);

    /// <param name="job">Under which name its runs are noted (<see cref="JobRun.Name"/>).</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<bool> RunAsync(string job, CancellationToken cancellationToken)
    {
        var (root, now) = (settings.Value.Backup.Directory, clock.GetUtcNow());
        if (root.Length == 0 || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return false;
        if (Directory.Exists(root) && new BackupFolder(root).NewestWhole(now) is { } newest && now - newest.At <= Missed)
            return false;
        // Stopped by the maker, it is not begun again before its night.
        if (await db.Shops.AnyAsync(s => s.BackupStoppedAt > now - Missed && s.BackupStoppedAt <= now, cancellationToken))
            return false;
        // A run noted in a time to come is of a clock that was set back since.
        return !await db.JobRuns.AnyAsync(r => r.Name == job && r.StartedAt > now - BetweenTries && r.StartedAt <= now, cancellationToken);
    }
}
