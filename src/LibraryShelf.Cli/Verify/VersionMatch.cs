using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Verify;

/// <summary>
/// The version a folder comes nearest to. <paramref name="Renamed"/>: the version's path, and where its very bytes lie instead. What is
/// <paramref name="LeftOver"/> from other versions, and <paramref name="Own"/> files, are no fault.
/// </summary>
internal sealed record NearestVersion(
    VersionLine Version, IReadOnlyList<string> Altered, IReadOnlyList<string> Missing, IReadOnlyList<(string Path, string As)> Renamed,
    IReadOnlyList<string> LeftOver, IReadOnlyList<string> Own)
{
    public int Faults => Altered.Count + Missing.Count + Renamed.Count;

    public bool IsExact => Faults == 0;

    public IReadOnlyList<Discrepancy> Discrepancies =>
    [
        .. Altered.Select(p => new Discrepancy(DiscrepancyKind.Altered, p, "Its bytes are not those that were packed."))
            .Concat(Missing.Select(p => new Discrepancy(DiscrepancyKind.Missing, p, "It is in that version and not there.")))
            .Concat(Renamed.Select(r => new Discrepancy(DiscrepancyKind.Renamed, r.Path, $"It is there under another name: {r.As}")))
            .OrderBy(d => d.Path, StringComparer.Ordinal),
    ];
}

/// <summary>
/// Holds hashed files against a shelf's versions; the same rule as wwwroot/js/match-version.js, and tests/which-version-cases.json holds both to
/// it. Names are compared by what they look like (canonical equivalence, Unicode Standard §3.7): macOS writes é in two characters.
/// </summary>
internal static class VersionMatch
{
    /// <summary>Held by what it is, not by what it says: two names that look alike may both lie in one folder.</summary>
    private sealed class Found(string path, string sha256)
    {
        public string Path { get; } = path;
        public string Sha256 { get; } = sha256;
    }

    /// <summary>The nearest version, of equals the newest; null when no file's bytes or name are of this library.</summary>
    /// <param name="table">Versions newest first.</param>
    /// <param name="found">SHA-256 by path, of all that lies in the folder.</param>
    public static NearestVersion? Find(VersionsAnswer table, IReadOnlyDictionary<string, string> found)
    {
        var top = Top(table, found);
        var hashes = table.Files.Select(f => f.Sha256).ToHashSet(StringComparer.Ordinal);
        if (top is null && !found.Values.Any(hashes.Contains))
            return null;
        var byKey = found.Select(f => (Path: UnicodeForms.Decompose(f.Key), Sha256: f.Value)).Where(f => f.Path.StartsWith(top ?? "", StringComparison.Ordinal))
            .Select(f => new Found(f.Path[(top?.Length ?? 0)..], f.Sha256)).ToLookup(f => f.Path, StringComparer.Ordinal);
        var known = table.Files.Select(f => UnicodeForms.Decompose(f.Path)).ToHashSet(StringComparer.Ordinal);
        return table.Versions.Where(v => v.Runs is not null).Select(v => Hold(v, FilesOf(table, v), byKey, known)).MinBy(n => n.Faults);
    }

    /// <summary>Bytes of the latest version's files that the folder's version does not have: about the size of an update.</summary>
    public static long Cost(VersionsAnswer table, VersionLine from, VersionLine to)
    {
        var known = FilesOf(table, from).Select(f => (UnicodeForms.Decompose(f.Path), f.Sha256)).ToHashSet();
        return FilesOf(table, to).Where(f => !known.Contains((UnicodeForms.Decompose(f.Path), f.Sha256))).Sum(f => f.Size);
    }

    internal static List<FileLine> FilesOf(VersionsAnswer table, VersionLine version) =>
        [.. version.Runs!.Chunk(2).SelectMany(run => table.Files.Skip(run[0]).Take(run[1]))];

    private static NearestVersion Hold(VersionLine version, List<FileLine> files, ILookup<string, Found> byKey, HashSet<string> known)
    {
        var (altered, missing, taken) = (new List<string>(), new List<FileLine>(), new HashSet<Found>());
        foreach (var file in files)
        {
            var here = byKey[UnicodeForms.Decompose(file.Path)].ToList();
            if (here.Count == 0)
                missing.Add(file);
            else if (here.Find(f => f.Sha256 == file.Sha256) is { } right)
                taken.Add(right);
            else
            {
                altered.Add(file.Path);
                taken.Add(here[0]);
            }
        }
        var extra = byKey.SelectMany(g => g).Where(f => !taken.Contains(f)).OrderBy(f => f.Path, StringComparer.Ordinal).ToList();
        var renamed = new List<(string, string)>();
        foreach (var file in missing.OrderBy(f => f.Path, StringComparer.Ordinal).ToList())
        {
            if (extra.Find(f => f.Sha256 == file.Sha256) is not { } there)
                continue;
            renamed.Add((file.Path, there.Path));
            extra.Remove(there);
            missing.Remove(file);
        }
        return new NearestVersion(version, altered, [.. missing.Select(f => f.Path)], renamed,
            [.. extra.Where(f => known.Contains(f.Path)).Select(f => f.Path)], [.. extra.Where(f => !known.Contains(f.Path) && !IsNote(f.Path)).Select(f => f.Path)]);
    }

    /// <summary>The note of an update that was unzipped over the folder: neither of a version nor the person's own.</summary>
    private static bool IsNote(string path) =>
        path == UpdateArchive.RemovedName || UpdateBetween.MayStandIn(path);

    /// <summary>
    /// The folder may lie in another: of all beginnings of paths, the one under which most files have names that the versions know; a file with
    /// the very bytes counts twice. Of equals the one nearest the top. Null when none has.
    /// </summary>
    private static string? Top(VersionsAnswer table, IReadOnlyDictionary<string, string> found)
    {
        var known = table.Files.ToLookup(f => UnicodeForms.Decompose(f.Path), f => f.Sha256, StringComparer.Ordinal);
        var votes = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var (given, sha256) in found)
        {
            var path = UnicodeForms.Decompose(given);
            for (var start = 0; start >= 0; start = path.IndexOf('/', start) + 1 is > 0 and var next ? next : -1)
            {
                if (known.Contains(path[start..]))
                    votes[path[..start]] = votes.GetValueOrDefault(path[..start]) + (known[path[start..]].Contains(sha256) ? 2 : 1);
            }
        }
        return votes.OrderByDescending(v => v.Value).ThenBy(v => v.Key.Count(c => c == '/')).ThenBy(v => v.Key, StringComparer.Ordinal).Select(v => v.Key).FirstOrDefault();
    }
}
