using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>The version a folder comes nearest to. <paramref name="Extra"/> is no fault: own files, and what other versions left.</summary>
internal sealed record NearestVersion(VersionLine Version, IReadOnlyList<Discrepancy> Discrepancies, IReadOnlyList<string> Extra)
{
    public bool IsExact => Discrepancies.Count == 0;
}

/// <summary>Holds hashed files against a shelf's versions; the same rule as wwwroot/js/match-version.js.</summary>
internal static class VersionMatch
{
    /// <summary>The nearest version, of equals the newest; null when no file's bytes or name are of this library.</summary>
    /// <param name="table">Versions newest first.</param>
    /// <param name="found">SHA-256 by path, of all that lies in the folder.</param>
    public static NearestVersion? Find(VersionsAnswer table, IReadOnlyDictionary<string, string> found)
    {
        var hashes = table.Files.Select(f => f.Sha256).ToHashSet(StringComparer.Ordinal);
        var top = Top(table, found);
        if (top is null && !found.Values.Any(hashes.Contains))
            return null;
        var rooted = found.Where(f => f.Key.StartsWith(top ?? "", StringComparison.Ordinal))
            .ToDictionary(f => f.Key[(top?.Length ?? 0)..], f => (string?)f.Value, StringComparer.Ordinal);
        return table.Versions.Where(v => v.Runs is not null).Select(v => Hold(v, FilesOf(table, v), rooted)).MinBy(n => n.Discrepancies.Count);
    }

    /// <summary>Bytes of the latest version's files that the folder's version does not have: about the size of an update.</summary>
    public static long Cost(VersionsAnswer table, VersionLine from, VersionLine to)
    {
        var known = FilesOf(table, from).Select(f => (f.Path, f.Sha256)).ToHashSet();
        return FilesOf(table, to).Where(f => !known.Contains((f.Path, f.Sha256))).Sum(f => f.Size);
    }

    private static NearestVersion Hold(VersionLine version, IReadOnlyList<FileLine> files, Dictionary<string, string?> found)
    {
        var all = ChecksumComparison.Compare(files.Select(f => new ListedChecksum(f.Path, f.Sha256)), found);
        return new NearestVersion(version, [.. all.Where(d => d.Kind != DiscrepancyKind.Extra)],
            [.. all.Where(d => d.Kind == DiscrepancyKind.Extra).Select(d => d.Path!)]);
    }

    private static List<FileLine> FilesOf(VersionsAnswer table, VersionLine version) =>
        [.. version.Runs!.Chunk(2).SelectMany(run => table.Files.Skip(run[0]).Take(run[1]))];

    /// <summary>
    /// The folder may lie in another: of all beginnings of paths, the one under which most files have names that the versions know; a file with
    /// the very bytes counts twice. Null when none has.
    /// </summary>
    private static string? Top(VersionsAnswer table, IReadOnlyDictionary<string, string> found)
    {
        var known = table.Files.ToLookup(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var votes = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var (path, sha256) in found)
        {
            for (var start = 0; start >= 0; start = path.IndexOf('/', start) + 1 is > 0 and var next ? next : -1)
            {
                if (known.Contains(path[start..]))
                    votes[path[..start]] = votes.GetValueOrDefault(path[..start]) + (known[path[start..]].Contains(sha256) ? 2 : 1);
            }
        }
        return votes.OrderByDescending(v => v.Value).ThenBy(v => v.Key.Length).Select(v => v.Key).FirstOrDefault();
    }
}
