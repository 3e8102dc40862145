using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The full archive of one release: the maker's folder under one top folder, plus four texts. Sealing and `shelf pack` both come
/// here, so their bytes agree.
/// </summary>
/// <remarks>
/// When the maker's folder already holds a file or folder of such a name (in any letter case, since the archive will be unzipped
/// where case doesn't count), hers stays: it is her folder, her songs and players may refer to the file, and a member who looks
/// for a name finds what its maker wrote. Ours then lies beside it as CHANGES.shelf.md (then CHANGES.shelf2.md, …): what was written on the workbench,
/// the licence above all, is never dropped in favour of a file nobody compared it with.
/// </remarks>
public static class FullArchive
{
    public const string ChangesName = "CHANGES.md";
    public const string LicenceName = "LICENCE.txt";
    public const string InstallName = "INSTALL.txt";
    public static string ChecksumsName => "CHECKSUMS.sha256";

    /// <summary>The recipe. RecipeException, in words for the maker, when her files can't be an archive.</summary>
    public static Recipe Build(FullArchiveInput input)
    {
        ArgumentNullException.ThrowIfNull(input);
        var topFolder = FolderName.FromTitle(input.Title);
        var names = NamesOfTexts(input.Files.Select(f => f.Path));
        RecipeEntry[] texts =
        [
            Text(names.Changes, ArchiveTexts.Changes(input)),
            Text(names.Licence, ArchiveTexts.Licence(input)),
            Text(names.Install, ArchiveTexts.Install(input, topFolder, names.Checksums)),
        ];
        RecipeEntry[] files = [.. input.Files, .. texts];
        var checksums = ChecksumList.Write(files.Select(f => new ListedChecksum(f.Path, f.Sha256 ?? Hash(f.Inline))));
        var entries = files.Append(Text(names.Checksums, checksums)).OrderBy(e => e.Path, StringComparer.Ordinal);
        return new Recipe(topFolder, input.Dated, entries);
    }

    /// <summary>The names that the four texts get beside these files; see the remarks above.</summary>
    public static TextNames NamesOfTexts(IEnumerable<string> makersPaths)
    {
        ArgumentNullException.ThrowIfNull(makersPaths);
        var taken = makersPaths.Select(p => p.Split('/')[0]).ToHashSet(StringComparer.OrdinalIgnoreCase);
        return new TextNames(Free(ChangesName, taken), Free(LicenceName, taken), Free(InstallName, taken), Free(ChecksumsName, taken));
    }

    /// <summary>Which of these paths is the shelf's own checksum list (see the remarks above); null when none is.</summary>
    public static string? FindChecksums(IEnumerable<string> paths)
    {
        ArgumentNullException.ThrowIfNull(paths);
        return Find(ChecksumsName, paths.ToHashSet(StringComparer.Ordinal));
    }

    /// <summary>Which of these paths are the shelf's own texts; empty unless all four are there, as they are in every folder unzipped from an archive.</summary>
    public static IReadOnlyList<string> FindTexts(IEnumerable<string> paths)
    {
        ArgumentNullException.ThrowIfNull(paths);
        var there = paths.ToHashSet(StringComparer.Ordinal);
        string[] names = [ChangesName, LicenceName, InstallName, ChecksumsName];
        var found = names.Select(name => Find(name, there)).OfType<string>().ToList();
        return found.Count == names.Length ? found : [];
    }

    /// <summary>Ours is the one that had to give way most often: the last of the row.</summary>
    private static string? Find(string name, HashSet<string> there) =>
        Names(name).TakeWhile((free, n) => n < 2 || there.Contains(free)).LastOrDefault(there.Contains);

    /// <summary>The name under which the archive is downloaded, such as "Mended Kettle 1.2.0.zip".</summary>
    public static string FileName(string title, string number) => $"{FolderName.FromTitle(title)} {number}.zip";

    /// <summary>The name that a text of ours gets beside these files.</summary>
    internal static string FreeName(string name, IEnumerable<string> paths) =>
        Free(name, paths.Select(p => p.Split('/')[0]).ToHashSet(StringComparer.OrdinalIgnoreCase));

    private static string Free(string name, HashSet<string> taken) => Names(name).First(free => !taken.Contains(free));

    /// <summary>CHANGES.md, CHANGES.shelf.md, CHANGES.shelf2.md, …</summary>
    private static IEnumerable<string> Names(string name)
    {
        yield return name;
        var (stem, ending) = (Path.GetFileNameWithoutExtension(name), Path.GetExtension(name));
        yield return $"{stem}.shelf{ending}";
        for (var n = 2; ; n++)
            yield return $"{stem}.shelf{n}{ending}";
    }

    private static RecipeEntry Text(string name, string text) => RecipeEntry.FromBytes(name, Encoding.UTF8.GetBytes(text));

    private static string Hash(ReadOnlyMemory<byte> bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes.Span));
}

/// <summary>Where the shelf's own texts lie in an archive's top folder.</summary>
public sealed record TextNames(string Changes, string Licence, string Install, string Checksums);
