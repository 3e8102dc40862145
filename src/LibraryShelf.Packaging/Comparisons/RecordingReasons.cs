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
            reasons.Add(new Reason(Bump.Major, T($"{Words.Recordings(removed.Count)} {Are(removed.Count)} gone: songs and players may ask for {(removed.Count == 1 ? T("it") : T("them"))}.")));
        var renamed = pairs.Where(p => p.IsRenamed).ToList();
        var lost = renamed.Count(p => !newer.IsMapped(p.New.Path));
        if (2 * renamed.Count >= before && renamed.Count > 0)
            reasons.Add(new Reason(Bump.Major, T($"{renamed.Count} of {Words.Recordings(before)} have other names.")));
        else if (lost > 0)
            reasons.Add(new Reason(Bump.Major, T($"{Words.Recordings(lost)} {(lost == 1 ? T("has another name") : T("have other names"))} that no mapping follows.")));
        else if (renamed.Count > 0)
            reasons.Add(new Reason(Bump.Minor, $"{Words.Recordings(renamed.Count)} {(renamed.Count == 1 ? T("has another name, which the mapping asks for") : T("have other names, which the mapping asks for"))}."));
        if (added.Count > 0)
            reasons.Add(new Reason(Bump.Minor, $"{Words.Recordings(added.Count)} {(added.Count == 1 ? T("was") : T("were"))} added."));
        foreach (var same in pairs.Where(p => p.Kind is ChangeKind.ReRecorded or ChangeKind.Level or ChangeKind.Trimmed or ChangeKind.Retagged).GroupBy(p => p.Kind!.Value).OrderBy(g => g.Key))
            reasons.Add(new Reason(Bump.Patch, $"{Words.Recordings(same.Count())} {Are(same.Count())} {WordOf(same.Key)}."));
    }

    private static string WordOf(ChangeKind kind) => kind switch
    {
        ChangeKind.ReRecorded => "recorded again",
        ChangeKind.Level => T("louder or softer, and otherwise the same"),
        ChangeKind.Trimmed => T("trimmed or faded, and otherwise the same"),
        _ => T("the same sound in other bytes"),
    };

    private static string Are(int count) => count == 1 ? "is" : "are";
}
