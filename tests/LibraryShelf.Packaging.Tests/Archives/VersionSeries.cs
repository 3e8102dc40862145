using System.Globalization;
using System.Text;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

/// <summary>A made-up library that is revised several times at random: files added, removed, altered, renamed, renamed in case only, and files that become folders.</summary>
internal sealed class VersionSeries(int seed)
{
    private readonly Random random = new(seed);
    private int made;

    public SampleArchive Sample { get; } = new();

    /// <summary>The maker's files of each version, by path.</summary>
    public List<SortedDictionary<string, byte[]>> Folders { get; } = [];

    public List<Recipe> Recipes { get; } = [];

    public static string Number(int version) => string.Create(CultureInfo.InvariantCulture, $"1.{version}.0");

    public static VersionSeries Make(int seed, int versions, bool withFolders)
    {
        var series = new VersionSeries(seed);
        var folder = new SortedDictionary<string, byte[]>(StringComparer.Ordinal);
        for (var i = 0; i < 12; i++)
            series.Add(folder);
        for (var version = 0; version < versions; version++)
        {
            if (version > 0)
                series.Revise(folder, withFolders);
            series.Keep(new SortedDictionary<string, byte[]>(folder, StringComparer.Ordinal), version);
        }
        return series;
    }

    private void Keep(SortedDictionary<string, byte[]> folder, int version)
    {
        Folders.Add(folder);
        Recipes.Add(FullArchive.Build(new FullArchiveInput
        {
            Title = "Mended Kettle",
            Number = Number(version),
            Files = [.. folder.Select(f => Sample.Blob(f.Key, f.Value))],
            Changes = [new ReleaseChange(Number(version), null, $"Revision {version}.")],
        }));
    }

    private void Revise(SortedDictionary<string, byte[]> folder, bool withFolders)
    {
        for (var edits = random.Next(1, 6); edits > 0; edits--)
        {
            var path = folder.Keys.ElementAt(random.Next(folder.Count));
            switch (random.Next(withFolders ? 7 : 5))
            {
                case 0: Add(folder); break;
                case 1: if (folder.Count > 3) folder.Remove(path); break;
                case 2: folder[path] = Bytes(); break;
                case 3: Move(folder, path, $"Moved {made++}/{Path.GetFileName(path)}"); break;
                case 4: Move(folder, path, Path.GetFileName(path) == path ? SwapCase(path) : path[..(path.LastIndexOf('/') + 1)] + SwapCase(Path.GetFileName(path))); break;
                case 5: Move(folder, path, path + "/inner.wav"); break;
                default: FolderToFile(folder, path); break;
            }
        }
    }

    private void Add(SortedDictionary<string, byte[]> folder)
    {
        var above = $"Samples {made % 3}";
        if (folder.Keys.Any(k => k.Equals(above, StringComparison.OrdinalIgnoreCase)))
            above = $"More {made}";
        folder[$"{above}/Note {made++} ä.wav"] = Bytes();
    }

    private void FolderToFile(SortedDictionary<string, byte[]> folder, string path)
    {
        if (path.LastIndexOf('/') is var slash && slash < 0)
            return;
        var above = path[..slash];
        foreach (var inner in folder.Keys.Where(k => k.StartsWith(above + "/", StringComparison.Ordinal)).ToList())
            folder.Remove(inner);
        folder[above] = Bytes();
    }

    private static void Move(SortedDictionary<string, byte[]> folder, string from, string to)
    {
        folder.Remove(from, out var bytes);
        folder[to] = bytes!;
    }

    private static string SwapCase(string name) =>
        new([.. name.Select(c => char.IsAsciiLetterUpper(c) ? char.ToLowerInvariant(c) : char.IsAsciiLetterLower(c) ? char.ToUpperInvariant(c) : c)]);

    private byte[] Bytes() => Encoding.ASCII.GetBytes($"{random.Next()}").Concat(new byte[random.Next(0, 20_000)]).ToArray();
}
