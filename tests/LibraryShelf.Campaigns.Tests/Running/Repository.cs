namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>The tree the tests were built from.</summary>
internal static class Repository
{
    private static readonly string Root = Find();

    public static string File(string path) => Path.Combine(Root, path);

    private static string Find()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (System.IO.File.Exists(Path.Combine(folder.FullName, "LibraryShelf.sln")))
                return folder.FullName;
        }
        throw new InvalidOperationException("LibraryShelf.sln is not above the test assembly; run the tests from a clone.");
    }
}
