using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// How a restore that died left the data directory. Everything is moved out of <see cref="DataPaths.Restoring"/> one by one, the database last: with it in its
/// place and nothing left aside, the shelf is whole, and only the empty folder was not removed.
/// </summary>
public static class RestoredFolder
{
    /// <summary>It was cut off: no shelf yet, and restoring begins anew.</summary>
    public static bool IsCutOff(DataPaths paths)
    {
        ArgumentNullException.ThrowIfNull(paths);
        return Directory.Exists(paths.Restoring) && !IsWhole(paths);
    }

    /// <summary>Removes the empty folder of one that was done.</summary>
    public static void Tidy(DataPaths paths)
    {
        ArgumentNullException.ThrowIfNull(paths);
        if (IsWhole(paths))
            Directory.Delete(paths.Restoring);
    }

    /// <summary>It died between the last move and its end.</summary>
    internal static bool IsWhole(DataPaths paths) =>
        File.Exists(paths.Database) && Directory.Exists(paths.Restoring) && !Directory.EnumerateFileSystemEntries(paths.Restoring).Any();
}
