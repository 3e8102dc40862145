using System.Diagnostics;
using LibraryShelf.Campaigns.Tests.Running;
using Microsoft.Data.Sqlite;

namespace LibraryShelf.Campaigns.Tests.FullDisk;

/// <summary>A disk of 64 MiB in memory (tmpfs), which a ballast file fills.</summary>
internal sealed class SmallDisk : IDisposable
{
    /// <summary>What uploads leave free of it: a twentieth (<see cref="Core.Shared.DiskSettings.Reserve"/>), in whole pages.</summary>
    public const int Reserve = (64 << 20) / 20 / Page * Page;

    private const int Page = 4096;
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("shelf-small-disk-");

    public SmallDisk()
    {
        using var mount = Process.Start("mount", ["-t", "tmpfs", "-o", "size=64m", "shelf-campaign", folder.FullName]);
        mount.WaitForExit();
        if (mount.ExitCode == 0)
            return;
        folder.Delete();
        throw new InvalidOperationException(
            "A small disk could not be mounted, and without one a full disk can't be tried. Run as root, or where a user may have "
            + "namespaces of his own: unshare --map-root-user --mount dotnet test tests/LibraryShelf.Campaigns.Tests (tests/run does that). In a "
            + "container, allow it to mount (--cap-add SYS_ADMIN).");
    }

    public string Data => Path.Combine(folder.FullName, "data");

    private string Ballast => Path.Combine(folder.FullName, "ballast");

    /// <summary>Leaves about so many bytes free. The database's log is emptied first, so that it too needs room to grow.</summary>
    public async Task FillAsync(TrialShelf shelf, long leave = 0)
    {
        // A log that somebody wrote to meanwhile would be overwritten in place, and a full disk not be met.
        for (var log = new FileInfo(shelf.Paths.Database + "-wal"); ;)
        {
            // Emptied into the database, which may have to grow for it: on a disk that is full already that fails.
            Clear();
            await EmptyLogAsync(shelf);
            await FillAsync(leave);
            log.Refresh();
            if (!log.Exists || log.Length == 0)
                return;
        }
    }

    private async Task FillAsync(long leave)
    {
        await using var file = new FileStream(Ballast, FileMode.Append, FileAccess.Write, FileShare.None, bufferSize: 0);
        var zeros = new byte[16 * Page];
        try
        {
            while (new DriveInfo(folder.FullName).AvailableFreeSpace is var free && free > leave)
                await file.WriteAsync(zeros.AsMemory(0, (int)Math.Min(zeros.Length, free - leave)));
        }
        catch (IOException) when (leave == 0)
        {
            // Full, as wished.
        }
    }

    private static Task EmptyLogAsync(TrialShelf shelf) => Waiting.UntilAsync("the log is empty", async () =>
    {
        await using var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = shelf.Paths.Database, Pooling = false }.ToString());
        await connection.OpenAsync();
        await using var command = connection.CreateCommand();
        command.CommandText = "PRAGMA wal_checkpoint(TRUNCATE)";
        // The first column: 1 when somebody held it up.
        return await command.ExecuteScalarAsync() is 0L;
    });

    public void Clear() => File.Delete(Ballast);

    public void Dispose()
    {
        using var unmount = Process.Start("umount", ["--lazy", folder.FullName]);
        unmount.WaitForExit();
        folder.Delete();
    }
}
