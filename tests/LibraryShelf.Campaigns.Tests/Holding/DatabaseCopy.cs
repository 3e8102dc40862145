using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Campaigns.Tests.Holding;

/// <summary>
/// A copy of the database and its log as they lie on the disk. Looking happens there, so that the program and nobody else mends
/// what a kill left (SQLite's recovery would otherwise be the test's).
/// </summary>
internal sealed class DatabaseCopy : IDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("shelf-copy-");

    public DatabaseCopy(DataPaths paths)
    {
        // Not the -shm: it is an index of the log, made anew by whoever opens it first.
        foreach (var file in new[] { paths.Database, paths.Database + "-wal" })
            if (File.Exists(file))
                File.Copy(file, Path.Combine(folder.FullName, Path.GetFileName(file)));
        Db = TrialShelf.Open(Path.Combine(folder.FullName, Path.GetFileName(paths.Database)));
    }

    public ShelfDb Db { get; }

    public void Dispose()
    {
        Db.Dispose();
        folder.Delete(recursive: true);
    }
}
