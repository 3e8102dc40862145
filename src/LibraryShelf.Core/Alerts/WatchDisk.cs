using System.Globalization;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Alerts;

public enum WatchDiskOutcome { EnoughRoom, NearlyFull, Unknown }

/// <summary>
/// Raises an alert while a volume the shelf writes to has less room than the setting says, and settles it once each has a tenth more
/// than that again, so that a disk at the brink does not come and go.
/// </summary>
public sealed class WatchDisk(ShelfDb db, IDiskRoom disk, DataPaths paths, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    public async Task<WatchDiskOutcome> RunAsync(CancellationToken cancellationToken)
    {
        // Each may be a volume of its own; the first name wins where they are one.
        var volumes = new[] { (T("that holds the database"), paths.Root), (T("with the recordings"), paths.Blobs), ("for uploads", paths.Uploads) }
            .Select(v => (Name: v.Item1, Room: disk.Of(v.Item2))).Where(v => v.Room is not null)
            .Select(v => (v.Name, Room: v.Room!)).DistinctBy(v => v.Room).ToList();
        if (volumes.Count == 0)
            return WatchDiskOutcome.Unknown;
        var worst = volumes.MinBy(v => (double)v.Room.Free / Math.Max(1, Limit(v.Room)));
        if (worst.Room.Free < Limit(worst.Room))
        {
            var words = Words(volumes.Count == 1 ? "" : " " + worst.Name, worst.Room);
            await new RaiseAlert(db, clock).RunAsync(AlertKind.DiskNearlyFull, "", words, cancellationToken);
            return WatchDiskOutcome.NearlyFull;
        }
        if (volumes.TrueForAll(v => v.Room.Free >= Limit(v.Room) * 1.1))
            await new SettleAlert(db, clock).RunAsync(AlertKind.DiskNearlyFull, "", cancellationToken);
        return WatchDiskOutcome.EnoughRoom;
    }

    /// <summary>Bytes: the larger of the two settings.</summary>
    private long Limit(DiskRoom room) => settings.Value.Disk.NearlyFull(room.Total);

    private static string Words(string which, DiskRoom room) =>
        T($"The shelf's disk{which} is nearly full: {Gigabytes(room.Free)} of {Gigabytes(room.Total)} are free. Nothing is lost. "
        + "When it is full, no upload, check or sealing can go on, and downloads are no longer counted. Make room on it, or give the shelf a larger disk.");

    private static string Gigabytes(long bytes) => (bytes / 1e9).ToString("0.0", CultureInfo.InvariantCulture) + " GB";
}
