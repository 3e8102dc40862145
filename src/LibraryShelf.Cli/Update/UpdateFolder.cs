using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>The folder to be updated as it lies there: its checksum list, and the SHA-256 of every file.</summary>
internal sealed record UpdateFolder(LocalFolder Folder, string ListPath, IReadOnlyList<ListedChecksum> Listed, IReadOnlyDictionary<string, string> Hashes, SavedMeanwhile Meanwhile)
{
    /// <summary>Without links to folders, which lead elsewhere; hidden ones too.</summary>
    public static readonly EnumerationOptions Everything = new() { RecurseSubdirectories = true, AttributesToSkip = FileAttributes.ReparsePoint };

    /// <summary>The list itself is the old version's too.</summary>
    public bool IsOfVersion(string path) => path == ListPath || Listed.Any(l => l.Path == path);

    /// <summary>Files of the version that are not as they were packed; the person's own are no fault.</summary>
    public IReadOnlyList<Discrepancy> Altered() =>
        [.. ChecksumComparison.Compare(Listed, Hashes.Where(h => h.Key != ListPath).ToDictionary(h => h.Key, h => (string?)h.Value, StringComparer.Ordinal))
            .Where(d => d.Kind != DiscrepancyKind.Extra)];

    public static async Task<UpdateFolder> ReadAsync(string path, ShelfConsole console, CancellationToken cancellationToken)
    {
        var folder = LocalFolder.Read(path);
        var list = FullArchive.FindChecksums(folder.Files.Select(f => f.Path))
            ?? throw new CouldNotRunException($"there is no {FullArchive.ChecksumsName} in {path}, so nothing says which version it is. Give the folder named after the library.");
        var meanwhile = SavedMeanwhile.Watch(folder);
        using var progress = console.StartProgress("Reading the folder", folder.Bytes);
        var sums = await FileHashing.HashAsync(folder.Files, progress.Add, cancellationToken);
        return new UpdateFolder(folder, list, UpdateSource.ReadList(await File.ReadAllTextAsync(Path.Combine(folder.FullPath, list), cancellationToken), list),
            sums.ToDictionary(s => s.File.Path, s => s.Sha256, StringComparer.Ordinal), meanwhile);
    }

    /// <summary>Where the library lies: the folder itself, or the one in it that is named as in the archive; a link's end, so that the link stays.</summary>
    public static string Find(string path, string topFolder)
    {
        var full = Path.TrimEndingDirectorySeparator(Path.GetFullPath(path));
        var inner = Path.Combine(full, topFolder);
        // Killed between two renames, the folder's name is free for a moment; the note beside it says so.
        var place = !HasList(full) && topFolder.Length > 0 && (HasList(inner) || UpdatePlaces.AreLeft(inner)) ? inner : full;
        var info = new DirectoryInfo(place);
        return info.LinkTarget is null ? place : Path.TrimEndingDirectorySeparator(info.ResolveLinkTarget(returnFinalTarget: true)!.FullName);
    }

    private static bool HasList(string folder) => Directory.Exists(folder)
        && FullArchive.FindChecksums(Directory.EnumerateFiles(folder).Select(f => Path.GetFileName(f))) is not null;
}
