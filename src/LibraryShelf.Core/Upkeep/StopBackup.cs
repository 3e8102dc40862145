using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Stops a backup that is being made: within a second, or, while the database itself is copied to a file, when that is done. Earlier ones stay. The next is made on its night, or
/// when the maker presses; not an hour later, as after one that failed.
/// </summary>
public sealed class StopBackup(ShelfDb db, TimeProvider clock)
{
    /// <param name="job">Under which name its runs are noted (<see cref="JobRun.Name"/>).</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    /// <returns>False: none was being made; nothing was changed.</returns>
    public async Task<bool> RunAsync(string job, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await ProgressNotes.ReadAsync(db, ProgressNotes.Backup, cancellationToken) is null && !await db.JobRuns.AnyAsync(r => r.Name == job && r.EndedAt == null, cancellationToken))
            return false;
        var now = clock.GetUtcNow();
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.BackupStoppedAt, now), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }
}
