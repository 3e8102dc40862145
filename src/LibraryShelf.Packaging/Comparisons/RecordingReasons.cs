using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What changed recordings mean for the number.</summary>
internal static class RecordingReasons
{
    public static void Say(
        ComparedSide older, ComparedSide newer, IReadOnlyList<RecordingPair> pairs,
        IReadOnlyCollection<ComparedFile> removed, IReadOnlyCollection<ComparedFile> added, List<Reason> reasons)
    {
        var before = pairs.Count + removed.Count;
        if (removed.Count > 0)
            reasons.Add(new Reason(Bump.Major, removed.Count == 1
                ? T("1 recording is gone: songs and players may ask for it.")
                : T($"{Words.Recordings(removed.Count)} are gone: songs and players may ask for them.")));
        var renamed = pairs.Where(p => p.IsRenamed).ToList();
        var lost = renamed.Count(p => !newer.IsMapped(p.New.Path));
        if (2 * renamed.Count >= before && renamed.Count > 0)
            reasons.Add(new Reason(Bump.Major, T($"{renamed.Count} of {Words.Recordings(before)} have other names.")));
        else if (lost > 0)
            reasons.Add(new Reason(Bump.Major, lost == 1
                ? T("1 recording has another name that no mapping follows.")
                : T($"{Words.Recordings(lost)} have other names that no mapping follows.")));
        else if (renamed.Count > 0)
            reasons.Add(new Reason(Bump.Minor, renamed.Count == 1
                ? T("1 recording has another name, which the mapping asks for.")
                : T($"{Words.Recordings(renamed.Count)} have other names, which the mapping asks for.")));
        if (added.Count > 0)
            reasons.Add(new Reason(Bump.Minor, added.Count == 1 ? T("1 recording was added.") : T($"{Words.Recordings(added.Count)} were added.")));
        foreach (var same in pairs.Where(p => p.Kind is ChangeKind.ReRecorded or ChangeKind.Level or ChangeKind.Trimmed or ChangeKind.Retagged).GroupBy(p => p.Kind!.Value).OrderBy(g => g.Key))
            reasons.Add(new Reason(Bump.Patch, SentenceOf(same.Key, same.Count())));
    }

    private static string SentenceOf(ChangeKind kind, int count) => (kind, count) switch
    {
        (ChangeKind.ReRecorded, 1) => T("1 recording is recorded again."),
        (ChangeKind.ReRecorded, _) => T($"{Words.Recordings(count)} are recorded again."),
        (ChangeKind.Level, 1) => T("1 recording is louder or softer, and otherwise the same."),
        (ChangeKind.Level, _) => T($"{Words.Recordings(count)} are louder or softer, and otherwise the same."),
        (ChangeKind.Trimmed, 1) => T("1 recording is trimmed or faded, and otherwise the same."),
        (ChangeKind.Trimmed, _) => T($"{Words.Recordings(count)} are trimmed or faded, and otherwise the same."),
        (_, 1) => T("1 recording is the same sound in other bytes."),
        _ => T($"{Words.Recordings(count)} are the same sound in other bytes."),
    };
}
