namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// A month's drop as one archive: each version's folder beside the others, with its own texts and its own checksum list, exactly as in its own archive.
/// </summary>
public static class DropArchive
{
    /// <summary>
    /// Its recipe, from those of the full archives; the same whatever their order. RecipeException, in words for people, when two libraries would lie in one folder.
    /// </summary>
    public static Recipe Build(IEnumerable<Recipe> versions)
    {
        ArgumentNullException.ThrowIfNull(versions);
        var all = versions.OrderBy(r => r.TopFolder, StringComparer.Ordinal).ToList();
        var twice = all.GroupBy(r => r.TopFolder, StringComparer.OrdinalIgnoreCase).FirstOrDefault(g => g.Count() > 1);
        if (twice is not null)
            throw new RecipeException(T($"Two libraries of this month have the folder “{twice.Key}”, so they can’t lie in one archive. Take them one by one."));
        return new Recipe("", all.Max(r => r.Dated), all.SelectMany(r => r.Entries.Select(e => e.Under(r.TopFolder))));
    }

    /// <summary>The name under which it is downloaded, such as "Salt and reeds 2026-12.zip".</summary>
    public static string FileName(string title, string month) => $"{FolderName.FromTitle(title)} {month}.zip";
}
