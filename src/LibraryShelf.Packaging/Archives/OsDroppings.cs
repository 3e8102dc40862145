namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Files that operating systems leave in folders for themselves and that are no part of a library. Packing, sending and verifying
/// pass over the same ones, so that a folder gives the same archive wherever it was opened.
/// </summary>
public static class OsDroppings
{
    private static readonly HashSet<string> Files = new(StringComparer.OrdinalIgnoreCase)
    {
        ".DS_Store", ".localized", "Thumbs.db", "ehthumbs.db", "desktop.ini", ".directory",
    };

    private static readonly HashSet<string> Folders = new(StringComparer.OrdinalIgnoreCase)
    {
        "__MACOSX", ".Spotlight-V100", ".Trashes", ".fseventsd", ".TemporaryItems", "$RECYCLE.BIN", "System Volume Information",
    };

    /// <summary>True when this path ('/' between parts) is such a file or lies in such a folder. "._name" is macOS's second half of a file.</summary>
    public static bool Contains(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        var parts = path.Split('/');
        return Files.Contains(parts[^1]) || parts[^1].StartsWith("._", StringComparison.Ordinal) || parts[..^1].Any(Folders.Contains);
    }
}
