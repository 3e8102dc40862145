using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>What makes a list of files a possible archive. Every recipe passes here, made or read.</summary>
internal static class RecipeRules
{
    /// <summary>Bytes of UTF-8 that a name in a zip can have (a 16-bit length, APPNOTE 6.3.10 §4.4.10).</summary>
    public const int MostPathBytes = ushort.MaxValue;

    public static void Require(Recipe recipe)
    {
        if (recipe.Dated < Recipe.Undated || recipe.Dated > Recipe.LastDate)
            throw new RecipeException(T($"A zip can carry dates from 1980 to 2107, not {recipe.Dated:O}."));
        if (recipe.TopFolder.Length > 0 && !IsOnePart(recipe.TopFolder))
            throw new RecipeException(T($"“{recipe.TopFolder}” can’t be an archive’s top folder."));
        RequireTotal(recipe.Entries);
        RequireDistinct(recipe);
    }

    private static bool IsOnePart(string folder) =>
        !folder.Contains('/') && (PortablePath.Check(folder) is not { } problem || !PortablePath.IsUnsafe(problem));

    private static void RequireTotal(IReadOnlyList<RecipeEntry> entries)
    {
        long total = 0;
        foreach (var entry in entries)
        {
            if (entry.Size > Recipe.MostBytes - total)
                throw new RecipeException(T($"With “{entry.Path}” the archive would be larger than {Recipe.MostBytes} bytes."));
            total += entry.Size;
        }
    }

    private static void RequireDistinct(Recipe recipe)
    {
        var files = new HashSet<string>(recipe.Entries.Count, StringComparer.Ordinal);
        foreach (var entry in recipe.Entries)
        {
            if (!files.Add(entry.Path))
                throw new RecipeException(T($"“{entry.Path}” is in the archive twice."));
            if (Encoding.UTF8.GetByteCount(recipe.PathInArchive(entry)) > MostPathBytes)
                throw new RecipeException(T($"“{string.Concat(entry.Path.EnumerateRunes().Take(40))}…” is too long a path for a zip (more than {MostPathBytes} bytes). Shorten it."));
        }
        foreach (var entry in recipe.Entries)
            RequireNoFileAbove(entry.Path, files);
    }

    private static void RequireNoFileAbove(string path, HashSet<string> files)
    {
        for (var slash = path.LastIndexOf('/'); slash > 0; slash = path.LastIndexOf('/', slash - 1))
        {
            if (files.Contains(path[..slash]))
                throw new RecipeException(T($"“{path[..slash]}” is both a file and a folder."));
        }
    }
}
