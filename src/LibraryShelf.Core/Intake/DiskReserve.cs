using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// How much of a disk uploads may take: what is free, less a reserve for the database. Without one the last upload that fits would keep
/// everybody from signing in and every download from starting.
/// </summary>
public sealed class DiskReserve(IDiskRoom disk, DataPaths paths, IOptions<ShelfSettings> settings)
{
    /// <summary>Bytes written without asking again; far less than the reserve of a disk worth the name.</summary>
    public const long Stretch = 16L << 20;

    /// <summary>Why this many more bytes do not fit where uploads arrive; null: they fit, or the system does not say.</summary>
    internal string? WhyNoUpload(string path, long bytes) => Why(paths.Uploads, bytes, T($"{FolderRules.Shown(path)} needs {DataSize.Of(bytes)}"));

    /// <summary>Why no more of an upload fits whose length nobody knows; null: at least a <see cref="Stretch"/> more does no harm, or the system does not say.</summary>
    internal string? WhyNoMore(string path) => Why(paths.Uploads, 1, T($"{FolderRules.Shown(path)} does not fit"));

    /// <summary>Why this many more bytes do not fit where recordings are kept; null: they fit, or the system does not say.</summary>
    internal string? WhyNoFiles(long bytes) => Why(paths.Blobs, bytes, T($"its files need {DataSize.Of(bytes)}"));

    private string? Why(string folder, long bytes, string need)
    {
        if (disk.Of(folder) is not { } room)
            return null;
        var reserve = settings.Value.Disk.Reserve(room.Total);
        return room.Free - reserve >= bytes ? null
            : T($"The shelf’s disk is full as far as uploads go: {need}, and of the {DataSize.Of(Math.Max(0, room.Free))} that are free {DataSize.Of(reserve)} are kept for everything else.");
    }
}

/// <summary>There is no room for what is about to be stored. The message says what does not fit and what is free.</summary>
internal sealed class NoRoomException(string message) : Exception(message);
