namespace LibraryShelf.Architecture.Tests;

/// <summary>The source tree the tests were built from, found by walking up from the test assembly to the solution file.</summary>
internal static class Repository
{
    public static string Root { get; } = Find();

    public static string Source => Path.Combine(Root, "src");

    public static IEnumerable<string> FilesUnder(string folder, string pattern) =>
        Directory.EnumerateFiles(Path.Combine(Root, folder), pattern, SearchOption.AllDirectories)
            .Where(file => !IsGenerated(file));

    private static bool IsGenerated(string file)
    {
        var parts = Path.GetRelativePath(Root, file).Split(Path.DirectorySeparatorChar);
        return parts.Intersect(["bin", "obj", "node_modules", "vendor", "Migrations"]).Any();
    }

    private static string Find()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "LibraryShelf.sln")))
                return folder.FullName;
        }
        throw new InvalidOperationException("LibraryShelf.sln is not above the test assembly; run the tests from a clone.");
    }
}
