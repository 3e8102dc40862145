using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// When unzipping over the old folder can't give the new one: a zip writes files and takes none away. Names are held against each other as
/// Windows and macOS do, so that one archive is right everywhere.
/// </summary>
internal static class UpdateObstacles
{
    /// <summary>What stands in the way, in words for people; null when nothing does.</summary>
    public static string? Find(Recipe old, Recipe next, string fromNumber, string toNumber)
    {
        if (FolderDiffers(old, next, fromNumber, toNumber) is { } differs)
            return differs;
        var (oldFiles, nextFiles) = (ByKey(old), ByKey(next));
        if (FileAbove(nextFiles, oldFiles) is { } file)
            return T($"“{file}” is a file in {fromNumber} and a folder in {toNumber}: unzipping can’t change that. Take the whole library.");
        if (FileAbove(oldFiles, nextFiles) is { } folder)
            return T($"“{folder}” is a folder in {fromNumber} and a file in {toNumber}: unzipping can’t change that. Take the whole library.");
        var list = FullArchive.FindChecksums(next.Entries.Select(e => e.Path));
        return FullArchive.FindChecksums(next.Entries.Concat(old.Entries).Select(e => e.Path)) == list ? null
            : T($"The checksum list of {fromNumber} would stay and be taken for that of {toNumber}. Take the whole library.");
    }

    public static string? FolderDiffers(Recipe old, Recipe next, string fromNumber, string toNumber)
    {
        ArgumentNullException.ThrowIfNull(old);
        ArgumentNullException.ThrowIfNull(next);
        return old.TopFolder == next.TopFolder ? null
            : T($"The folder in {fromNumber} is “{old.TopFolder}”, in {toNumber} “{next.TopFolder}”: an update would not fall onto it. Take the whole library.");
    }

    private static Dictionary<string, string> ByKey(Recipe recipe) =>
        recipe.Entries.DistinctBy(e => NameKey.Of(e.Path)).ToDictionary(e => NameKey.Of(e.Path), e => e.Path, StringComparer.Ordinal);

    /// <summary>The first of <paramref name="files"/> that is a folder above one of <paramref name="paths"/>.</summary>
    private static string? FileAbove(Dictionary<string, string> paths, Dictionary<string, string> files)
    {
        foreach (var key in paths.Keys)
        {
            for (var slash = key.LastIndexOf('/'); slash > 0; slash = key.LastIndexOf('/', slash - 1))
            {
                if (files.TryGetValue(key[..slash], out var file))
                    return file;
            }
        }
        return null;
    }
}
