namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// Files that operating systems drop into folders and zips and nobody means to send: Finder's and Explorer's view settings,
/// thumbnails, and the "._" halves in which macOS keeps what other disks can't.
/// </summary>
public static class Droppings
{
    private static readonly HashSet<string> Names = new(StringComparer.OrdinalIgnoreCase)
    {
        ".DS_Store", "Thumbs.db", "desktop.ini", ".Spotlight-V100", ".Trashes", ".fseventsd", "__MACOSX",
    };

    /// <summary>True when any part of the path is such a dropping.</summary>
    public static bool Are(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        return Array.Exists(path.Split('/'), part => Names.Contains(part) || part.StartsWith("._", StringComparison.Ordinal));
    }
}
