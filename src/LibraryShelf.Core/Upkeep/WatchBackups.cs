using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Tells the maker when the newest whole backup is two days old, whatever the reason, and settles it with the next one. A folder that is not there is told of by
/// the backup itself.
/// </summary>
public sealed class WatchBackups(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public static readonly TimeSpan TooOld = TimeSpan.FromHours(48);

    /// <returns>Whether it is too old.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        var (root, now) = (settings.Value.Backup.Directory, clock.GetUtcNow());
        var isWatched = root.Length > 0 && !await ShelfHold.IsTrialAsync(db, cancellationToken);
        if (isWatched && !Directory.Exists(root))
            return false;
        var stands = await db.Alerts.AsNoTracking().SingleOrDefaultAsync(a => a.Kind == AlertKind.BackupOld && a.SettledAt == null, cancellationToken);
        if (!isWatched || new BackupFolder(root).NewestWhole(now) is not { } newest || now - newest.At <= TooOld)
        {
            if (stands is not null)
                await new SettleAlert(db, clock).RunAsync(AlertKind.BackupOld, "", cancellationToken);
            return false;
        }
        var words = T($"The newest whole backup is of {LocalDateTime.FromDateTime(newest.At.UtcDateTime).ToString(T("d MMMM uuuu, HH:mm"), Say.Culture)} UTC, more than two days ago. What came since would be lost with the shelf’s disk. "
            + $"A backup is tried each hour; why it fails stands under Jobs. See that the disk of {root} is mounted, has room and can be written to, and press Run now there.");
        if (stands?.Words != words)
            await new RaiseAlert(db, clock).RunAsync(AlertKind.BackupOld, "", words, cancellationToken);
        return true;
    }
}
