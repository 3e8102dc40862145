namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Holds two folders of one library against each other: what differs, and what that means for the number (docs/versions.md).</summary>
public static class FolderComparison
{
    /// <param name="old">The older folder.</param>
    /// <param name="next">The newer folder.</param>
    /// <param name="oldNumber">The older one's number, from which the next is proposed.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    /// <param name="heard">Told, from several threads, how many recordings have been listened to beside older ones, of how many; never, where none has to be.</param>
    /// <exception cref="IOException">A recording could not be opened or read.</exception>
    public static Comparison Compare(ComparedFolder old, ComparedFolder next, string oldNumber, CancellationToken cancellationToken, Action<int, int>? heard = null)
    {
        ArgumentNullException.ThrowIfNull(old);
        ArgumentNullException.ThrowIfNull(next);
        var older = new ComparedSide(old);
        var newer = new ComparedSide(next, older);
        var (changes, reasons) = (new List<Change>(), new List<Reason>());
        var (pairs, removed, added) = RecordingMatching.Match(older, newer, heard, cancellationToken);
        changes.AddRange(pairs.Where(p => p.Kind is not null).Select(p => p.ToChange(newer)));
        changes.AddRange(removed.Select(f => Of(ChangeKind.Removed, f, older)));
        changes.AddRange(added.Select(f => Of(ChangeKind.Added, f, newer)));
        RecordingReasons.Say(older, newer, pairs, removed, added, reasons);
        var names = pairs.ToDictionary(p => p.New.Path, p => p.Old.Path, StringComparer.Ordinal);
        if (!newer.SurelyPlaysTheSame(OldNameOf))
            MappingComparison.Compare(older, newer, OldNameOf, changes, reasons);
        OtherFiles.Compare(older, newer, changes, reasons);
        PlayerComparison.Compare(old.Players, next.Players, changes, reasons);
        return new Comparison(
            [.. changes.OrderBy(c => c.Kind).ThenBy(c => c.Path, StringComparer.Ordinal)], NumberRule.Propose(oldNumber, reasons));

        string OldNameOf(string path) => names.GetValueOrDefault(path) ?? (newer.Files.ContainsKey(path) ? "new " + path : path);
    }

    private static Change Of(ChangeKind kind, ComparedFile file, ComparedSide side) =>
        new(kind, file.Path, null, null, side.KeysOf(file.Path)) { Articulation = side.PlaceOf(file.Path)?.Articulation ?? "" };
}
