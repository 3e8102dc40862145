using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Can these names stand on every system, and beside each other?</summary>
internal static class NameChecks
{
    public static void Judge(IReadOnlyList<FolderFile> files, Findings findings)
    {
        foreach (var file in files)
        {
            if (PortablePath.Check(file.Path) is { } problem)
                findings.Add(FindingCodes.NameUnportable, file.Path, PortablePath.Words(problem));
            if (UnicodeForms.IsDecomposed(file.Path))
                findings.Add(FindingCodes.NameDecomposed, file.Path,
                    T("The name spells an accented letter as letter and accent apart, as some Macs do; a mapping that spells it in one won’t find it everywhere. Rename the file, typing the letter anew."));
        }
        foreach (var group in PortablePath.Collisions(files.Select(f => f.Path)))
            findings.Add(FindingCodes.NameCollision, group[0],
                T($"On Windows and macOS this is the same name as {Words.And(group.Skip(1).Select(Words.Quote))}: only one would be left. Rename one."));
    }
}
