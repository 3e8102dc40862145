using System.Security.Cryptography;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>A folder that an update left beside the library: the old version, or the new one half built.</summary>
internal static class LeftFolder
{
    /// <summary>
    /// A file in it that is nowhere else, and may be what a person saved: neither as its version's own list has it, nor the same in the folder.
    /// Null when there is none. Reads every byte.
    /// </summary>
    public static string? FindOnlyHere(string left, string folder)
    {
        var paths = Directory.EnumerateFiles(left, "*", UpdateFolder.Everything).Select(f => Path.GetRelativePath(left, f).Replace('\\', '/')).ToList();
        var list = FullArchive.FindChecksums(paths);
        var listed = ReadListed(left, list);
        return paths.Where(p => p != list && !OsDroppings.Contains(p)).Order(StringComparer.Ordinal).FirstOrDefault(p =>
        {
            var (here, there) = (Path.Combine(left, p), Path.Combine(folder, p));
            if (UpdatePlan.IsStaleRemoved(p, here))
                return false;
            var sha256 = Hash(here);
            return !listed.Contains((p, sha256)) && !(File.Exists(there) && Hash(there) == sha256);
        });
    }

    /// <summary>Gives it a free name beside the library, and answers that.</summary>
    public static string KeepAside(string left, string folder)
    {
        for (var n = 1; ; n++)
        {
            var name = $"{folder} as it was{(n == 1 ? "" : $" {n}")}";
            if (Stands(name))
                continue;
            Directory.Move(left, name);
            return name;
        }
    }

    /// <summary>Anything has that name: a file, a folder, a link that leads nowhere.</summary>
    public static bool Stands(string path) => Path.Exists(path) || new FileInfo(path).LinkTarget is not null;

    /// <summary>Removes it, whatever may not be written to in it. Links in it go; where they lead stays.</summary>
    /// <param name="folder">Need not be there.</param>
    /// <param name="removed">Told after each file.</param>
    public static void Remove(string folder, Action removed)
    {
        var info = new DirectoryInfo(folder);
        if (!info.Exists)
            return;
        AllowRemoving(info);
        foreach (var item in info.EnumerateFileSystemInfos().ToList())
        {
            if (item is DirectoryInfo { LinkTarget: null } inner)
            {
                Remove(inner.FullName, removed);
                continue;
            }
            ClearReadOnly(item);
            item.Delete();
            removed();
        }
        info.Delete();
    }

    private static void AllowRemoving(DirectoryInfo folder)
    {
        // What lies in a folder that may not be written to can't be deleted.
        if (!OperatingSystem.IsWindows())
            folder.UnixFileMode |= UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;
        else
            ClearReadOnly(folder);
    }

    /// <summary>
    /// Windows deletes nothing that is marked read-only. Elsewhere that mark is the file's mode, which a file of the new folder with
    /// the same bytes perhaps shares, and hinders nothing.
    /// </summary>
    private static void ClearReadOnly(FileSystemInfo item)
    {
        if (OperatingSystem.IsWindows() && item.Attributes.HasFlag(FileAttributes.ReadOnly))
            item.Attributes &= ~FileAttributes.ReadOnly;
    }

    private static HashSet<(string, string)> ReadListed(string left, string? list)
    {
        try
        {
            return list is null ? [] : [.. UpdateSource.ReadList(File.ReadAllText(Path.Combine(left, list)), list).Select(l => (l.Path, l.Sha256))];
        }
        catch (CouldNotRunException)
        {
            return []; // no list: each file must be in the folder
        }
    }

    private static string Hash(string file)
    {
        using var stream = File.OpenRead(file);
        return Convert.ToHexStringLower(SHA256.HashData(stream));
    }
}
