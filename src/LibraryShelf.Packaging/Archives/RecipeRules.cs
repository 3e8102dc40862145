namespace LibraryShelf.Packaging.Archives;

/// <summary>What makes a list of files a possible archive. Every recipe passes here, made or read.</summary>
internal static class RecipeRules
{
    public static void Require(Recipe recipe)
    {
        if (recipe.Dated < Recipe.Undated || recipe.Dated > Recipe.LastDate)
            throw new RecipeException($"A zip can carry dates from 1980 to 2107, not {recipe.Dated:O}.");
        if (recipe.TopFolder.Length > 0 && (recipe.TopFolder.Contains('/') || ArchivePath.Problem(recipe.TopFolder) is not null))
            throw new RecipeException($"\"{recipe.TopFolder}\" can't be an archive's top folder.");
        RequireTotal(recipe.Entries);
        RequireDistinct(recipe);
    }

    private static void RequireTotal(IReadOnlyList<RecipeEntry> entries)
    {
        long total = 0;
        foreach (var entry in entries)
        {
            if (entry.Size > Recipe.MostBytes - total)
                throw new RecipeException($"With \"{entry.Path}\" the archive would be larger than {Recipe.MostBytes} bytes.");
            total += entry.Size;
        }
    }

    private static void RequireDistinct(Recipe recipe)
    {
        var files = new HashSet<string>(recipe.Entries.Count, StringComparer.Ordinal);
        foreach (var entry in recipe.Entries)
        {
            if (!files.Add(entry.Path))
                throw new RecipeException($"\"{entry.Path}\" is in the archive twice.");
            if (ArchivePath.Problem(recipe.PathInArchive(entry)) is { } problem)
                throw new RecipeException($"\"{entry.Path}\" {problem}.");
        }
        foreach (var entry in recipe.Entries)
            RequireNoFileAbove(entry.Path, files);
    }

    private static void RequireNoFileAbove(string path, HashSet<string> files)
    {
        for (var slash = path.LastIndexOf('/'); slash > 0; slash = path.LastIndexOf('/', slash - 1))
        {
            if (files.Contains(path[..slash]))
                throw new RecipeException($"\"{path[..slash]}\" is both a file and a folder.");
        }
    }
}
