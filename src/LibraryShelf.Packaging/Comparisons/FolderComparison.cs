using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Holds two folders of one library against each other: what differs, and what that means for the number (docs/versions.md).</summary>
public static class FolderComparison
{
    /// <param name="old">The older folder.</param>
    /// <param name="next">The newer folder.</param>
    /// <param name="oldNumber">The older one's number, from which the next is proposed.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    /// <exception cref="IOException">A recording could not be opened or read.</exception>
    public static Comparison Compare(ComparedFolder old, ComparedFolder next, string oldNumber, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(old);
        ArgumentNullException.ThrowIfNull(next);
        var (older, newer) = (new ComparedSide(old), new ComparedSide(next));
        var (changes, reasons) = (new List<Change>(), new List<Reason>());
        var (pairs, removed, added) = RecordingMatching.Match(older, newer, cancellationToken);
        changes.AddRange(pairs.Where(p => p.Kind is not null).Select(p => p.ToChange(newer)));
        changes.AddRange(removed.Select(f => Of(ChangeKind.Removed, f, older)));
        changes.AddRange(added.Select(f => Of(ChangeKind.Added, f, newer)));
        RecordingReasons.Say(older, newer, pairs, removed, added, reasons);
        var names = pairs.ToDictionary(p => p.New.Path, p => p.Old.Path, StringComparer.Ordinal);
        MappingComparison.Compare(older, newer, path => names.GetValueOrDefault(path) ?? (newer.Files.ContainsKey(path) ? "new " + path : path), changes, reasons);
        OtherFiles.Compare(older, newer, changes, reasons);
        PlayerComparison.Compare(old.Players, next.Players, changes, reasons);
        return new Comparison(
            [.. changes.OrderBy(c => c.Kind).ThenBy(c => c.Path, StringComparer.Ordinal)], NumberRule.Propose(oldNumber, reasons));
    }

    private static Change Of(ChangeKind kind, ComparedFile file, ComparedSide side) =>
        new(kind, file.Path, null, null, side.KeysOf(file.Path)) { Articulation = side.PlaceOf(file.Path)?.Articulation ?? "" };
}

/// <summary>What changed recordings mean for the number.</summary>
internal static class RecordingReasons
{
    public static void Say(
        ComparedSide older, ComparedSide newer, IReadOnlyList<RecordingPair> pairs,
        IReadOnlyCollection<ComparedFile> removed, IReadOnlyCollection<ComparedFile> added, List<Reason> reasons)
    {
        var before = pairs.Count + removed.Count;
        if (removed.Count > 0)
            reasons.Add(new Reason(Bump.Major, $"{Words.Recordings(removed.Count)} {Are(removed.Count)} gone: songs and players may ask for {(removed.Count == 1 ? "it" : "them")}."));
        var renamed = pairs.Where(p => p.IsRenamed).ToList();
        var lost = renamed.Count(p => !newer.IsMapped(p.New.Path));
        if (2 * renamed.Count >= before && renamed.Count > 0)
            reasons.Add(new Reason(Bump.Major, $"{renamed.Count} of {Words.Recordings(before)} have other names."));
        else if (lost > 0)
            reasons.Add(new Reason(Bump.Major, $"{Words.Recordings(lost)} {(lost == 1 ? "has another name" : "have other names")} that no mapping follows."));
        else if (renamed.Count > 0)
            reasons.Add(new Reason(Bump.Minor, $"{Words.Recordings(renamed.Count)} {(renamed.Count == 1 ? "has another name, and the mapping follows it" : "have other names, and the mapping follows them")}."));
        if (added.Count > 0)
            reasons.Add(new Reason(Bump.Minor, $"{Words.Recordings(added.Count)} {(added.Count == 1 ? "was" : "were")} added."));
        foreach (var same in pairs.Where(p => p.Kind is ChangeKind.ReRecorded or ChangeKind.Level or ChangeKind.Trimmed or ChangeKind.Retagged).GroupBy(p => p.Kind!.Value).OrderBy(g => g.Key))
            reasons.Add(new Reason(Bump.Patch, $"{Words.Recordings(same.Count())} {Are(same.Count())} {WordOf(same.Key)}."));
    }

    private static string WordOf(ChangeKind kind) => kind switch
    {
        ChangeKind.ReRecorded => "recorded again",
        ChangeKind.Level => "louder or softer, and otherwise the same",
        ChangeKind.Trimmed => "trimmed or faded, and otherwise the same",
        _ => "the same sound in other bytes",
    };

    private static string Are(int count) => count == 1 ? "is" : "are";
}

/// <summary>Files that are neither recordings nor programs: included parts of mappings, texts and pictures, players' own files.</summary>
internal static class OtherFiles
{
    public static void Compare(ComparedSide older, ComparedSide newer, List<Change> changes, List<Reason> reasons)
    {
        var gone = Rest(older, newer);
        var come = Rest(newer, older);
        foreach (var next in come.Values.ToList())
            if (!gone.ContainsKey(next.Path) && gone.Values.FirstOrDefault(f => f.Sha256 == next.Sha256) is { } old)
            {
                changes.Add(new Change(ChangeKind.Moved, next.Path, old.Path, null, []));
                SayGone(old, "has another name", reasons);
                gone.Remove(old.Path);
                come.Remove(next.Path);
            }
        foreach (var next in come.Values)
        {
            var isKnown = gone.Remove(next.Path);
            changes.Add(new Change(isKnown ? ChangeKind.Retagged : ChangeKind.Added, next.Path, null, null, [])
            {
                Words = isKnown ? newer.Included.Contains(next.Path) ? "a part of a mapping, written otherwise" : "changed; what it says is not compared" : "",
            });
            // What only a player can read may be a program.
            reasons.Add(new Reason(
                !isKnown && FileKinds.Of(next.Path) == FileKind.Other ? Bump.Minor : Bump.Patch, $"{Words.Quote(next.Path)} {(isKnown ? "changed" : "was added")}."));
        }
        foreach (var old in gone.Values)
        {
            changes.Add(new Change(ChangeKind.Removed, old.Path, null, null, []));
            SayGone(old, "is gone", reasons);
        }
    }

    /// <summary>A file of a player's own may be what a song opens; a text or a part of a mapping is not.</summary>
    private static void SayGone(ComparedFile old, string what, List<Reason> reasons) => reasons.Add(FileKinds.Of(old.Path) == FileKind.Other
        ? new Reason(Bump.Major, $"{Words.Quote(old.Path)} {what}: songs and players may ask for it.")
        : new Reason(Bump.Patch, $"{Words.Quote(old.Path)} {what}."));

    private static SortedDictionary<string, ComparedFile> Rest(ComparedSide side, ComparedSide other)
    {
        var programs = side.Programs.Select(p => p.Path).ToHashSet(StringComparer.Ordinal);
        return new(side.Files.Values
            .Where(f => FileKinds.Of(f.Path) != FileKind.Recording && !programs.Contains(f.Path) && other.Files.GetValueOrDefault(f.Path)?.Sha256 != f.Sha256)
            .ToDictionary(f => f.Path, StringComparer.Ordinal), StringComparer.Ordinal);
    }
}
