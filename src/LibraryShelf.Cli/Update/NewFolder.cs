using System.Security.Cryptography;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>Builds the new folder beside the old one and makes it durable. The old one is only read.</summary>
internal sealed class NewFolder(UpdateFolder old, UpdateSource source, UpdatePlan plan, string place, Func<string, string, bool> link)
{
    private readonly HashSet<string> linked = new(StringComparer.Ordinal);

    public async Task BuildAsync(Action<long> written, CancellationToken cancellationToken)
    {
        RequireRoom();
        Directory.CreateDirectory(place);
        foreach (var empty in Directory.EnumerateDirectories(old.Folder.FullPath, "*", UpdateFolder.Everything).Where(d => !Directory.EnumerateFileSystemEntries(d).Any()))
            Directory.CreateDirectory(Path.Combine(place, Path.GetRelativePath(old.Folder.FullPath, empty)));
        foreach (var file in plan.Files)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var target = Path.Combine(place, file.Path);
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            if (file.From is { } from)
                Keep(Path.Combine(old.Folder.FullPath, from), target);
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
        if (linked.Add(from) && link(from, target))
            return;
        File.Copy(from, target);
        using var copy = new FileStream(target, FileMode.Open, FileAccess.Read);
        RandomAccess.FlushToDisk(copy.SafeFileHandle);
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
        var free = new DriveInfo(old.Folder.FullPath).AvailableFreeSpace;
        if (free < needed)
            throw new CouldNotRunException($"updating {old.Folder.FullPath} needs {needed} bytes of room on its disk, and {free} are free. Nothing was changed. Make room, then update again.");
    }

    private bool CanLink()
    {
        var probe = place + "-probe";
        try
        {
            return plan.Files.FirstOrDefault(f => f.From is not null) is not { From: { } from } || link(Path.Combine(old.Folder.FullPath, from), probe);
        }
        finally
        {
            File.Delete(probe);
        }
    }
}
