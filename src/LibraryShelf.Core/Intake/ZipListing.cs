using System.IO.Compression;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Which entries of a zip are the library's files, and under which paths: one folder around everything is taken off, and what
/// operating systems drop into zips is left out. Refuses whatever is not a plain file inside the folder.
/// </summary>
internal static class ZipListing
{
    // Unix file kinds in the upper half of the external attributes (stat.h's S_IFMT; APPNOTE 4.4.15).
    private const int KindMask = 0xF000;
    private const int RegularFile = 0x8000;
    private const int Folder = 0x4000;

    public static List<(string Path, ZipArchiveEntry Entry)> Read(ZipArchive zip, IntakeSettings limits)
    {
        var files = new List<(string Path, ZipArchiveEntry Entry)>();
        foreach (var entry in zip.Entries)
        {
            RefuseOddKind(entry);
            if (!IsFolder(entry) && !OsDroppings.Contains(entry.FullName))
                files.Add((Guarded(entry.FullName), entry));
        }
        if (files.Count == 0)
            throw new ZipRefusedException(T("It holds no files. Zip the folder that holds the recordings and send it again."));
        if (files.Count > limits.MaxFiles)
            throw new ZipRefusedException(T($"It holds {files.Count:N0} files; this shelf takes {limits.MaxFiles:N0} in one version."));
        var plain = WithoutCommonTop(files);
        if (plain.GroupBy(f => f.Path, StringComparer.Ordinal).FirstOrDefault(g => g.Skip(1).Any()) is { } twice)
            throw new ZipRefusedException(T($"{FolderRules.Shown(twice.Key)} is in it twice. Zip the folder anew and send it again."));
        return plain;
    }

    private static void RefuseOddKind(ZipArchiveEntry entry)
    {
        var kind = (entry.ExternalAttributes >> 16) & KindMask;
        if (kind is not (0 or RegularFile or Folder))
            throw new ZipRefusedException(T($"{FolderRules.Shown(entry.FullName)} is a link or a device, not a file. Zip the folder with real files and send it again."));
        if (entry.IsEncrypted)
            throw new ZipRefusedException(T($"{FolderRules.Shown(entry.FullName)} is encrypted. Zip the folder without a password and send it again."));
    }

    private static bool IsFolder(ZipArchiveEntry entry) =>
        entry.FullName.EndsWith('/') && FolderRules.WhyPathRefused(entry.FullName.TrimEnd('/')) is var reason
        && (reason is null ? true : throw new ZipRefusedException(reason));

    private static string Guarded(string path) =>
        FolderRules.WhyPathRefused(path) is { } reason ? throw new ZipRefusedException(reason) : path;

    private static List<(string Path, ZipArchiveEntry Entry)> WithoutCommonTop(List<(string Path, ZipArchiveEntry Entry)> files)
    {
        var slash = files[0].Path.IndexOf('/', StringComparison.Ordinal);
        if (slash < 0)
            return files;
        var top = files[0].Path[..(slash + 1)];
        return files.TrueForAll(f => f.Path.StartsWith(top, StringComparison.Ordinal))
            // Guarded anew: what was a harmless name within a folder may be a drive or a root of its own.
            ? files.ConvertAll(f => (Guarded(f.Path[top.Length..]), f.Entry))
            : files;
    }
}
