using System.Security.Cryptography;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>Builds the new folder beside the old one and makes it durable. The old one is only read.</summary>
internal sealed class NewFolder(UpdateFolder old, UpdateSource source, UpdatePlan plan, string place, Func<string, string, bool> link)
{
    private readonly HashSet<string> linked = new(StringComparer.Ordinal);

    /// <summary>Paths of the old folder whose files are in the new one too: the same file under two names, not a copy.</summary>
    public IReadOnlySet<string> Linked => linked;

    public async Task BuildAsync(Action<long> written, CancellationToken cancellationToken)
    {
        Directory.CreateDirectory(place);
        RequireRoom();
        foreach (var empty in Directory.EnumerateDirectories(old.Folder.FullPath, "*", UpdateFolder.Everything).Where(d => !Directory.EnumerateFileSystemEntries(d).Any()))
            Directory.CreateDirectory(Path.Combine(place, Path.GetRelativePath(old.Folder.FullPath, empty)));
        foreach (var file in plan.Files)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var target = Path.Combine(place, file.Path);
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            if (file.From is { } from)
                Keep(from, target);
            else
                await WriteAsync(file, target, written, cancellationToken);
        }
        foreach (var folder in Directory.EnumerateDirectories(place, "*", UpdateFolder.Everything).Append(place))
            SystemCalls.FlushFolder(folder);
        if (!OperatingSystem.IsWindows())
            File.SetUnixFileMode(place, File.GetUnixFileMode(old.Folder.FullPath));
    }

    /// <summary>A file is linked once: two names of the new folder must not be one file, or editing the one would alter the other.</summary>
    private void Keep(string from, string target)
    {
        var existing = Path.Combine(old.Folder.FullPath, from);
        if (!linked.Contains(from) && link(existing, target))
        {
            linked.Add(from);
            return;
        }
        File.Copy(existing, target);
        Flush(target);
    }

    /// <summary>Windows makes only what is open for writing durable, and opens nothing for that which is marked read-only; the copy is ours, and gets its mark back.</summary>
    private static void Flush(string copy)
    {
        var isReadOnly = OperatingSystem.IsWindows() && File.GetAttributes(copy).HasFlag(FileAttributes.ReadOnly);
        if (isReadOnly)
            File.SetAttributes(copy, File.GetAttributes(copy) & ~FileAttributes.ReadOnly);
        using (var open = new FileStream(copy, FileMode.Open, OperatingSystem.IsWindows() ? FileAccess.ReadWrite : FileAccess.Read))
            RandomAccess.FlushToDisk(open.SafeFileHandle);
        if (isReadOnly)
            File.SetAttributes(copy, File.GetAttributes(copy) | FileAttributes.ReadOnly);
    }

    private async Task WriteAsync(PlannedFile file, string target, Action<long> written, CancellationToken cancellationToken)
    {
        await using var body = await source.OpenAsync(file.Path, cancellationToken);
        await using var to = new FileStream(target, FileMode.CreateNew, FileAccess.ReadWrite);
        await body.CopyToAsync(to, cancellationToken);
        await to.FlushAsync(cancellationToken);
        RandomAccess.FlushToDisk(to.SafeFileHandle);
        to.Seek(0, SeekOrigin.Begin);
        if (file.Sha256 is { } expected && Convert.ToHexStringLower(await SHA256.HashDataAsync(to, cancellationToken)) != expected)
            throw new CouldNotRunException($"\"{file.Path}\" did not arrive on the disk as it is in the archive. Nothing was changed.");
        written(to.Length);
    }

    private void RequireRoom()
    {
        var needed = plan.Files.Sum(f => f.From is null ? source.SizeOf(f.Path) : 0);
        if (!CanLink())
            needed += plan.Files.Where(f => f.From is not null).Sum(f => new FileInfo(Path.Combine(old.Folder.FullPath, f.From!)).Length);
        if (Free() is { } free && free < needed)
            throw new CouldNotRunException($"updating {old.Folder.FullPath} needs {needed} bytes of room on its disk, and {free} are free. Nothing was changed. Make room, then update again.");
    }

    /// <summary>Null where the system doesn't say, as of a Windows network share: writing then says when it is full.</summary>
    private long? Free()
    {
        try
        {
            return new DriveInfo(old.Folder.FullPath).AvailableFreeSpace;
        }
        catch (ArgumentException)
        {
            return null;
        }
    }

    /// <summary>Tried in the new folder, which is ours and still without files.</summary>
    private bool CanLink()
    {
        if (plan.Files.FirstOrDefault(f => f.From is not null) is not { From: { } from })
            return true;
        var probe = Path.Combine(place, "probe");
        if (!link(Path.Combine(old.Folder.FullPath, from), probe))
            return false;
        File.Delete(probe);
        return true;
    }
}
