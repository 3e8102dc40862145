using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>An update archive held against a shelf's versions. Lists are in ordinal order.</summary>
/// <param name="IsKnown">The version it leads to is in the table; the lists are empty when not.</param>
/// <param name="Altered">Files whose bytes are not those of the version it leads to, or that are not in it.</param>
/// <param name="Missing">Files of that version that are neither in the archive nor in the version it is from; empty when that one is not in the table.</param>
internal sealed record HeldUpdate(UpdateBetween Between, bool IsKnown, IReadOnlyList<string> Altered, IReadOnlyList<string> Missing)
{
    public bool IsExact => IsKnown && Altered.Count + Missing.Count == 0;
}

/// <summary>Holds an update archive against a shelf's versions; the same rule as heldUpdate in wwwroot/js/match-version.js.</summary>
internal static class UpdateMatch
{
    /// <param name="table">The shelf's versions.</param>
    /// <param name="between">What the archive says of itself.</param>
    /// <param name="found">SHA-256 by path in the archive.</param>
    public static HeldUpdate Hold(VersionsAnswer table, UpdateBetween between, IReadOnlyDictionary<string, string> found)
    {
        VersionLine? Of(string number) => table.Versions.FirstOrDefault(v => v.Number == number && v.Runs is not null);
        if (Of(between.To) is not { } to)
            return new HeldUpdate(between, false, [], []);
        var wanted = VersionMatch.FilesOf(table, to).ToDictionary(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var carried = found.Select(f => (Path: f.Key[(f.Key.IndexOf('/') + 1)..], Sha256: f.Value)).Where(f => !UpdateBetween.MayStandIn(f.Path) || wanted.ContainsKey(f.Path)).ToList();
        var altered = carried.Where(f => wanted.GetValueOrDefault(f.Path) != f.Sha256).Select(f => f.Path);
        var before = Of(between.From) is { } from ? VersionMatch.FilesOf(table, from).ToDictionary(f => f.Path, f => f.Sha256, StringComparer.Ordinal) : null;
        var there = carried.Select(f => f.Path).ToHashSet(StringComparer.Ordinal);
        var missing = before is null ? [] : wanted.Where(f => !there.Contains(f.Key) && before.GetValueOrDefault(f.Key) != f.Value).Select(f => f.Key);
        return new HeldUpdate(between, true, [.. altered.Order(StringComparer.Ordinal)], [.. missing.Order(StringComparer.Ordinal)]);
    }
}
