using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The update archive from one version to another: every file of the newer one that does not lie at the same path with the same bytes in the
/// older one. Unzipped over the old folder it gives the new library whole; what the older one has besides may be tidied away, and is listed
/// in REMOVED.txt. The checksum list in it speaks of the whole new folder.
/// </summary>
public static class UpdateArchive
{
    public const string RemovedName = "REMOVED.txt";

    /// <summary>Its recipe, from the recipes of both full archives. RecipeException when their top folders differ: it would not fall onto the old folder.</summary>
    public static Recipe Build(Recipe old, Recipe next, string fromNumber, string toNumber)
    {
        ArgumentNullException.ThrowIfNull(old);
        ArgumentNullException.ThrowIfNull(next);
        if (old.TopFolder != next.TopFolder)
            throw new RecipeException($"The folder in {fromNumber} is \"{old.TopFolder}\", in {toNumber} \"{next.TopFolder}\": an update would not fall onto it.");
        var known = old.Entries.ToDictionary(e => e.Path, StringComparer.Ordinal);
        var carried = next.Entries.Where(e => known.GetValueOrDefault(e.Path) is not { } before || !before.HasSameBytes(e)).ToList();
        if (RemovedText(old, next, fromNumber, toNumber) is { } removed)
            carried.Add(RecipeEntry.FromBytes(FullArchive.FreeName(RemovedName, next.Entries.Select(e => e.Path)), Encoding.UTF8.GetBytes(removed)));
        return new Recipe(next.TopFolder, next.Dated, carried.OrderBy(e => e.Path, StringComparer.Ordinal));
    }

    /// <summary>The name under which it is downloaded, such as "Mended Kettle 1.0.0 to 1.2.0.zip".</summary>
    public static string FileName(string title, string fromNumber, string toNumber) => $"{FolderName.FromTitle(title)} {fromNumber} to {toNumber}.zip";

    private static string? RemovedText(Recipe old, Recipe next, string fromNumber, string toNumber)
    {
        var kept = next.Entries.Select(e => e.Path).ToHashSet(StringComparer.Ordinal);
        var left = old.Entries.Select(e => e.Path).Where(p => !kept.Contains(p)).Order(StringComparer.Ordinal).ToList();
        return left.Count == 0 ? null
            : $"Files of {fromNumber} that {toNumber} does not have. They may be deleted; nothing in {toNumber} needs them.\n\n{string.Join('\n', left)}\n";
    }
}
