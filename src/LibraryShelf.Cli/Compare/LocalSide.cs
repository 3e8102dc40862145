using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Cli.Compare;

/// <summary>A file of one side: its path in the library, its bytes; <paramref name="Open"/> may be called on any core.</summary>
internal sealed record SideFile(string Path, long Size, Func<Stream> Open);

/// <summary>
/// One version as it lies on this machine, a folder or an archive, as its maker laid it out: the shelf's own four texts, which differ from
/// version to version by nature, are no part of it.
/// </summary>
internal sealed class LocalSide : IDisposable
{
    private readonly ZipSide? zip;
    private readonly SideFile? install;

    private LocalSide(string path, IEnumerable<SideFile> files, ZipSide? zip)
    {
        (Path, this.zip) = (path, zip);
        var all = files.ToList();
        Texts = FullArchive.FindTexts(all.Select(f => f.Path));
        // By the order in which FindTexts names them: changes, licence, install, checksums.
        install = Texts.Count > 0 ? all.Find(f => f.Path == Texts[2]) : null;
        Files = [.. all.Where(f => !Texts.Contains(f.Path)).OrderBy(f => f.Path, StringComparer.Ordinal)];
    }

    /// <summary>As it was given.</summary>
    public string Path { get; }

    /// <summary>In ordinal order of paths.</summary>
    public IReadOnlyList<SideFile> Files { get; }

    /// <summary>The shelf's own texts, which were passed over.</summary>
    public IReadOnlyList<string> Texts { get; }

    /// <summary>How to install it, where the players it opens in are named; null when the shelf's own texts are not there.</summary>
    public string? ReadInstall()
    {
        if (install is null)
            return null;
        using var stream = install.Open();
        return MappingText.Read(stream);
    }

    /// <summary>CouldNotRunException when there is no such folder or archive, or it can't be read as one.</summary>
    public static LocalSide Open(string path)
    {
        if (!File.Exists(path))
            return new LocalSide(path, LocalFolder.Read(path).Files.Select(f => new SideFile(f.Path, f.Size, () => OpenFile(f.FullPath))), null);
        var archive = new ZipSide(path);
        try
        {
            return new LocalSide(path, archive.List(), archive);
        }
        catch
        {
            archive.Dispose();
            throw;
        }
    }

    public void Dispose() => zip?.Dispose();

    private static FileStream OpenFile(string fullPath) =>
        new(fullPath, new FileStreamOptions { BufferSize = 64 * 1024, Options = FileOptions.SequentialScan });
}
