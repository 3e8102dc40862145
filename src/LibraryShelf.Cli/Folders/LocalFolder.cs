using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Folders;

/// <summary>A file of a folder on this machine: its path within the folder ('/' between parts), where it is, its bytes.</summary>
internal sealed record LocalFile(string Path, string FullPath, long Size);

/// <summary>A library's folder as it lies on this machine, in ordinal order of paths, without what the system left in it for itself.</summary>
internal sealed class LocalFolder
{
    private readonly List<LocalFile> files = [];
    private readonly List<string> passedOver = [];

    private LocalFolder(string fullPath) => FullPath = fullPath;

    public string FullPath { get; }
    public IReadOnlyList<LocalFile> Files => files;
    /// <summary>Files such as .DS_Store and Thumbs.db that are no part of the library; to be said, not hidden.</summary>
    public IReadOnlyList<string> PassedOver => passedOver;
    public long Bytes => files.Sum(f => f.Size);

    /// <summary>
    /// Lists the folder without reading its files. CouldNotRunException when it is not there or holds a link to a folder, which
    /// could lead anywhere, or round in a circle. A link to a file counts as the file.
    /// </summary>
    public static LocalFolder Read(string path)
    {
        var root = new DirectoryInfo(path);
        if (!root.Exists)
            throw new CouldNotRunException($"there is no folder {path}.");
        var folder = new LocalFolder(root.FullName);
        folder.Add(root, "");
        folder.files.Sort((a, b) => string.CompareOrdinal(a.Path, b.Path));
        folder.passedOver.Sort(StringComparer.Ordinal);
        return folder;
    }

    private void Add(DirectoryInfo folder, string prefix)
    {
        foreach (var item in folder.EnumerateFileSystemInfos())
        {
            var path = prefix + item.Name;
            if (OsDroppings.Contains(item is DirectoryInfo ? path + "/" : path))
                passedOver.Add(path);
            else if (item is not DirectoryInfo inner)
                files.Add(new LocalFile(path, item.FullName, SizeOf((FileInfo)item, path)));
            else if (inner.LinkTarget is null)
                Add(inner, path + "/");
            else
                throw new CouldNotRunException($"\"{path}\" is a link to a folder. Put the folder itself there, or take the link away.");
        }
    }

    private static long SizeOf(FileInfo file, string path)
    {
        if (file.LinkTarget is null)
            return file.Length > 0 || !SpecialFiles.IsSpecial(file)
                ? file.Length
                : throw new CouldNotRunException($"\"{path}\" is a pipe, a socket or a device, not a file. Take it out of the folder.");
        return file.ResolveLinkTarget(returnFinalTarget: true) is FileInfo { Exists: true } target
            ? SizeOf(target, path)
            : throw new CouldNotRunException($"\"{path}\" is a link to a file that is not there.");
    }
}
