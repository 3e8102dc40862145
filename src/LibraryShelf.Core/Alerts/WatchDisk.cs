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
    /// <summary>What lies on it; everything, where they are one.</summary>
    private enum Volume { Only, Database, Recordings, Uploads }

    public async Task<WatchDiskOutcome> RunAsync(CancellationToken cancellationToken)
    {
        // Each may be a volume of its own; the first name wins where they are one.
        var volumes = new[] { (Volume.Database, paths.Root), (Volume.Recordings, paths.Blobs), (Volume.Uploads, paths.Uploads) }
            .Select(v => (Which: v.Item1, Room: disk.Of(v.Item2))).Where(v => v.Room is not null)
            .Select(v => (v.Which, Room: v.Room!)).DistinctBy(v => v.Room).ToList();
        if (volumes.Count == 0)
            return WatchDiskOutcome.Unknown;
        var worst = volumes.MinBy(v => (double)v.Room.Free / Math.Max(1, Limit(v.Room)));
        if (worst.Room.Free < Limit(worst.Room))
        {
            var words = Words(volumes.Count == 1 ? Volume.Only : worst.Which, worst.Room);
            await new RaiseAlert(db, clock).RunAsync(AlertKind.DiskNearlyFull, "", words, cancellationToken);
            return WatchDiskOutcome.NearlyFull;
        }
        if (volumes.TrueForAll(v => v.Room.Free >= Limit(v.Room) * 1.1))
            await new SettleAlert(db, clock).RunAsync(AlertKind.DiskNearlyFull, "", cancellationToken);
        return WatchDiskOutcome.EnoughRoom;
    }

    /// <summary>Bytes: the larger of the two settings.</summary>
    private long Limit(DiskRoom room) => settings.Value.Disk.NearlyFull(room.Total);

    private static string Words(Volume which, DiskRoom room)
    {
        var (free, all) = (Gigabytes(room.Free), Gigabytes(room.Total));
        var full = which switch
        {
            Volume.Database => T($"The shelf’s disk that holds the database is nearly full: {free} of {all} are free."),
            Volume.Recordings => T($"The shelf’s disk with the recordings is nearly full: {free} of {all} are free."),
            Volume.Uploads => T($"The shelf’s disk for uploads is nearly full: {free} of {all} are free."),
            _ => T($"The shelf’s disk is nearly full: {free} of {all} are free."),
        };
        return $"{full} {T("Nothing is lost. When it is full, no upload, check or sealing can go on, and downloads are no longer counted. Make room on it, or give the shelf a larger disk.")}";
    }

    private static string Gigabytes(long bytes) => T($"{(bytes / 1e9).ToString("0.0", Say.Culture)} GB");
}
