using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

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
                SayGone(old, isRenamed: true, reasons);
                gone.Remove(old.Path);
                come.Remove(next.Path);
            }
        foreach (var next in come.Values)
        {
            var isKnown = gone.Remove(next.Path);
            changes.Add(new Change(isKnown ? ChangeKind.Retagged : ChangeKind.Added, next.Path, null, null, [])
            {
                Words = isKnown ? newer.Included.Contains(next.Path) ? T("a part of a mapping, written otherwise") : T("changed; what it says is not compared") : "",
            });
            // What only a player can read may be a program.
            reasons.Add(new Reason(
                !isKnown && FileKinds.Of(next.Path) == FileKind.Other ? Bump.Minor : Bump.Patch,
                isKnown ? T($"{Words.Quote(next.Path)} changed.") : T($"{Words.Quote(next.Path)} was added.")));
        }
        foreach (var old in gone.Values)
        {
            changes.Add(new Change(ChangeKind.Removed, old.Path, null, null, []));
            SayGone(old, isRenamed: false, reasons);
        }
    }

    /// <summary>A file of a player's own may be what a song opens; a text or a part of a mapping is not.</summary>
    private static void SayGone(ComparedFile old, bool isRenamed, List<Reason> reasons)
    {
        var name = Words.Quote(old.Path);
        reasons.Add((FileKinds.Of(old.Path) == FileKind.Other, isRenamed) switch
        {
            (true, true) => new Reason(Bump.Major, T($"{name} has another name: songs and players may ask for it.")),
            (true, false) => new Reason(Bump.Major, T($"{name} is gone: songs and players may ask for it.")),
            (false, true) => new Reason(Bump.Patch, T($"{name} has another name.")),
            (false, false) => new Reason(Bump.Patch, T($"{name} is gone.")),
        });
    }

    private static SortedDictionary<string, ComparedFile> Rest(ComparedSide side, ComparedSide other)
    {
        var programs = side.Programs.Select(p => p.Path).ToHashSet(StringComparer.Ordinal);
        return new(side.Files.Values
            .Where(f => FileKinds.Of(f.Path) != FileKind.Recording && !programs.Contains(f.Path) && other.Files.GetValueOrDefault(f.Path)?.Sha256 != f.Sha256)
            .ToDictionary(f => f.Path, StringComparer.Ordinal), StringComparer.Ordinal);
    }
}
