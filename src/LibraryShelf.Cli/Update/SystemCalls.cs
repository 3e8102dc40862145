using System.Runtime.InteropServices;

namespace LibraryShelf.Cli.Update;

/// <summary>What the platform's own file calls don't offer: exchanging two names at once, a second name for the same file, a folder's fsync.</summary>
internal static partial class SystemCalls
{
    private const int Here = -100; // AT_FDCWD
    private const uint Exchange = 2; // RENAME_EXCHANGE (linux/fs.h) and RENAME_SWAP (sys/stdio.h) have the same value

    /// <summary>Exchanges two names in one step. False where the system or this file system can't, and nothing has changed then.</summary>
    public static bool TryExchange(string one, string other)
    {
        try
        {
            return OperatingSystem.IsLinux() ? RenameAt2(Here, one, Here, other, Exchange) == 0
                : OperatingSystem.IsMacOS() && RenameX(one, other, Exchange) == 0;
        }
        catch (EntryPointNotFoundException)
        {
            return false; // an older C library
        }
    }

    /// <summary>Gives a file a second name. False where that is refused (another disk, a file system without hard links, Windows): copy then.</summary>
    public static bool TryLink(string existing, string other) => !OperatingSystem.IsWindows() && Link(existing, other) == 0;

    /// <summary>Makes a folder's entries durable. Windows has no such call, and keeps its folders in a journal.</summary>
    public static void FlushFolder(string folder)
    {
        if (OperatingSystem.IsWindows())
            return;
        var handle = Open(folder, 0);
        if (handle < 0)
            return;
        // A file system that knows no fsync of a folder says so, and there is no more to be done.
        _ = Sync(handle);
        _ = Close(handle);
    }

    [LibraryImport("libc", EntryPoint = "renameat2", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int RenameAt2(int oldFolder, string oldName, int newFolder, string newName, uint flags);

    [LibraryImport("libc", EntryPoint = "renamex_np", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int RenameX(string oldName, string newName, uint flags);

    [LibraryImport("libc", EntryPoint = "link", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Link(string existing, string other);

    [LibraryImport("libc", EntryPoint = "open", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Open(string path, int flags);

    [LibraryImport("libc", EntryPoint = "fsync")]
    private static partial int Sync(int handle);

    [LibraryImport("libc", EntryPoint = "close")]
    private static partial int Close(int handle);
}
