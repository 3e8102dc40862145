using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Update;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>Verifies an unzipped library against the checksum list in it.</summary>
internal sealed class FolderVerifier(ShelfConsole console)
{
    /// <summary>CouldNotRunException when the folder holds no checksum list, or one that can't be read: there is nothing to verify against.</summary>
    public async Task<Verification> RunAsync(string path, CancellationToken cancellationToken)
    {
        var folder = LocalFolder.Read(path);
        var list = FullArchive.FindChecksums(folder.Files.Select(f => f.Path))
            ?? throw new CouldNotRunException($"there is no {FullArchive.ChecksumsName} in {path}. Give the folder that holds it: the one named after the library.");
        var listed = await ReadAsync(Path.Combine(folder.FullPath, list), cancellationToken);
        // What an update unzipped over the folder left to say what may be deleted is no file too many.
        var own = listed.Select(l => l.Path).ToHashSet(StringComparer.Ordinal);
        var files = folder.Files.Where(f => f.Path != list && (own.Contains(f.Path) || !UpdatePlan.IsStaleRemoved(f.Path, f.FullPath))).ToList();
        var found = await HashAsync(files, cancellationToken);
        return new Verification(files.Count, folder.Bytes, ChecksumComparison.Compare(listed, found));
    }

    private static async Task<IReadOnlyList<ListedChecksum>> ReadAsync(string list, CancellationToken cancellationToken)
    {
        try
        {
            return ChecksumList.Read(await File.ReadAllTextAsync(list, cancellationToken));
        }
        catch (FormatException e)
        {
            throw new CouldNotRunException($"{list} can't be read as a checksum list. {e.Message}", e);
        }
    }

    private async Task<Dictionary<string, string?>> HashAsync(List<LocalFile> files, CancellationToken cancellationToken)
    {
        using var progress = console.StartProgress("Verifying", files.Sum(f => f.Size));
        var sums = await FileHashing.HashAsync(files, progress.Add, cancellationToken);
        return sums.ToDictionary(s => s.File.Path, s => (string?)s.Sha256, StringComparer.Ordinal);
    }
}
