using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Mappings are compared by what they do; recordings are followed to their new names and takes.</summary>
internal static class MappingComparison
{
    /// <param name="older">The older folder.</param>
    /// <param name="newer">The newer folder.</param>
    /// <param name="oldNameOf">The older folder's name of a recording of the newer one; its own when it has none.</param>
    /// <param name="changes">Gets what differs.</param>
    /// <param name="reasons">Gets what it means for the number.</param>
    public static void Compare(ComparedSide older, ComparedSide newer, Func<string, string> oldNameOf, List<Change> changes, List<Reason> reasons)
    {
        var left = older.Programs.ToDictionary(p => p.Path, p => new ProgramVoices(p, s => s, older.CentreOf), StringComparer.Ordinal);
        var come = newer.Programs.ToDictionary(p => p.Path, p => new ProgramVoices(p, oldNameOf, newer.CentreOf), StringComparer.Ordinal);
        var pairs = Pair(older, newer, left, come);
        foreach (var (old, next) in pairs)
        {
            var from = old == next ? null : old;
            var change = ProgramChanges.Compare(next, from, newer.Ways[next], left[old], come[next], newer.Naming, reasons);
            if (change is null && from is not null)
                change = new Change(ChangeKind.Moved, next, from, null, [.. come[next].Keys]) { Articulation = newer.Ways[next] };
            else if (change is null && older.Files[old].Sha256 != newer.Files[next].Sha256)
            {
                change = new Change(ChangeKind.Retagged, next, null, null, []) { Words = T("written otherwise, plays the same") };
                reasons.Add(new Reason(Bump.Patch, T($"The mapping {Words.Quote(next)} is written otherwise, and plays the same.")));
            }
            if (change is not null)
                changes.Add(change);
            if (from is not null)
                reasons.Add(new Reason(Bump.Major, T($"The mapping {Words.Quote(from)} has another name, {Words.Quote(next)}: songs and players may ask for the old one.")));
        }
        foreach (var old in left.Keys.Except(pairs.Select(p => p.Old)).Order(StringComparer.Ordinal))
        {
            changes.Add(new Change(ChangeKind.Removed, old, null, null, [.. left[old].Keys]) { Articulation = older.Ways[old] });
            reasons.Add(new Reason(Bump.Major, T($"The mapping {Words.Quote(old)} is gone, and with it a way of playing.")));
        }
        foreach (var next in come.Keys.Except(pairs.Select(p => p.New)).Order(StringComparer.Ordinal))
        {
            changes.Add(new Change(ChangeKind.Added, next, null, null, [.. come[next].Keys]) { Articulation = newer.Ways[next] });
            reasons.Add(new Reason(Bump.Minor, T($"The mapping {Words.Quote(next)} was added.")));
        }
    }

    /// <summary>The same path; then the same bytes; then the only one left that plays the same.</summary>
    private static List<(string Old, string New)> Pair(
        ComparedSide older, ComparedSide newer, Dictionary<string, ProgramVoices> left, Dictionary<string, ProgramVoices> come)
    {
        var pairs = left.Keys.Where(come.ContainsKey).Order(StringComparer.Ordinal).Select(p => (Old: p, New: p)).ToList();
        Func<string, string, bool>[] rules =
        [
            (old, next) => older.Files[old].Sha256 == newer.Files[next].Sha256,
            (old, next) => left[old].PlaysLike(come[next]),
        ];
        foreach (var isSame in rules)
            foreach (var next in come.Keys.Except(pairs.Select(p => p.New)).Order(StringComparer.Ordinal).ToList())
                if (left.Keys.Except(pairs.Select(p => p.Old)).Order(StringComparer.Ordinal).FirstOrDefault(old => isSame(old, next)) is { } match)
                    pairs.Add((match, next));
        return pairs;
    }
}
