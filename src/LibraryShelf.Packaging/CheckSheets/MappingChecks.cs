using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Do the mappings and the files agree: nothing named that is missing, nothing there that is unused?</summary>
internal static class MappingChecks
{
    public static void JudgeText(SfzMapping mapping, Findings findings)
    {
        foreach (var problem in mapping.Problems)
            if (MustFixOf(problem) is { } finding)
                findings.Add(finding.Code, mapping.Path, finding.Message);
        AddListed(mapping, FindingCodes.MappingUnreadableText, [SfzProblemKind.UnreadableValue, SfzProblemKind.StrayText],
            items => T($"Can’t be read as SFZ version 1 and was passed over: {items}. Correct the line, or make sure that it is meant."), findings);
        AddListed(mapping, FindingCodes.MappingUnknownWords, [SfzProblemKind.UnknownOpcode, SfzProblemKind.UnknownHeader],
            items => T($"Not in SFZ version 1, so not checked, and some players pass over it: {items}. Try the mapping in every player you name."), findings);
        if (!mapping.Regions.Any(r => r.SampleText is not null))
            findings.Add(FindingCodes.MappingEmpty, mapping.Path, T("This mapping sounds no recording. Complete it, or take it out of the folder."));
    }

    /// <summary>Adds what each named path came to; answers the folder's files that some region uses.</summary>
    public static HashSet<string> JudgeFiles(IReadOnlyList<SfzMapping> mappings, IReadOnlyList<FolderFile> files, Findings findings)
    {
        var exact = files.Select(f => f.Path).ToHashSet(StringComparer.Ordinal);
        var bySpelling = files.Select(f => f.Path).ToLookup(NameKey.Of, StringComparer.Ordinal);
        var used = new HashSet<string>(StringComparer.Ordinal);
        foreach (var mapping in mappings)
            foreach (var region in mapping.Regions.Where(NamesAFile).DistinctBy(r => r.SampleText))
            {
                var line = LineOf(mapping, region.File, region.Line);
                if (region.Sample is null)
                    findings.Add(FindingCodes.MappingLeavesFolder, mapping.Path,
                        T($"{line} names {Words.Quote(region.SampleText!)}, which lies outside the library folder. Name a file inside it, relative to the mapping."));
                else if (exact.Contains(region.Sample))
                    used.Add(region.Sample);
                else if (bySpelling[NameKey.Of(region.Sample)].FirstOrDefault() is { } other)
                {
                    used.Add(other);
                    findings.Add(FindingCodes.MappingOtherSpelling, mapping.Path,
                        T($"{line} names {Words.Quote(region.Sample)}, but the file is spelled {Words.Quote(other)}. Spell both alike: some systems find it only then."));
                }
                else
                    findings.Add(FindingCodes.MappingMissingFile, mapping.Path,
                        T($"{line} names {Words.Quote(region.Sample)}, which is not in the folder. Add the recording, or correct the mapping."));
            }
        return used;
    }

    public static void JudgeUnused(
        IEnumerable<string> recordings, IReadOnlyList<SfzMapping> mappings, HashSet<string> used, IReadOnlyList<string> kept, Findings findings)
    {
        if (!mappings.Any(m => m.Regions.Count > 0))
            return;
        var perhaps = kept.Count == 0 ? "" : " " + T($"It may belong to {Words.Some([.. kept.Select(Words.Quote)], 2)}, which can’t be read here.");
        foreach (var path in recordings.Where(path => !used.Contains(path)))
            findings.Add(FindingCodes.RecordingUnused, path, T("No SFZ mapping uses this recording. Map it, or take it out of the folder.") + perhaps);
    }

    private static bool NamesAFile(SfzRegion region) => region.SampleText is { } sample && !SfzParser.IsGenerated(sample);

    private static (string Code, string Message)? MustFixOf(SfzProblem problem) => problem.Kind switch
    {
        SfzProblemKind.IncludeMissing => (FindingCodes.MappingMissingFile,
            T($"Line {problem.Line} of {Words.Quote(problem.File)} includes {Words.Quote(problem.Text)}, which is not in the folder. Add it, or take the line out.")),
        SfzProblemKind.IncludeOutside => (FindingCodes.MappingLeavesFolder,
            T($"Line {problem.Line} of {Words.Quote(problem.File)} includes {Words.Quote(problem.Text)}, which lies outside the folder. Put the file into the folder, and name it there.")),
        SfzProblemKind.IncludeLoop => (FindingCodes.MappingLeavesFolder,
            T($"Line {problem.Line} of {Words.Quote(problem.File)} includes {Words.Quote(problem.Text)}, which includes itself by that, without end. Take the line out.")),
        SfzProblemKind.IncludeTooDeep => (FindingCodes.MappingLeavesFolder,
            T($"Line {problem.Line} of {Words.Quote(problem.File)} includes {Words.Quote(problem.Text)}, and is itself included through {SfzLines.MaxDepth} files: that goes too deep. Include it further up.")),
        SfzProblemKind.TooLarge => (FindingCodes.MappingUnreadable,
            T($"The mapping was not read whole: it has {problem.Text} (line {problem.Line} of {Words.Quote(problem.File)}). Split it into smaller files.")),
        _ => null,
    };

    private static void AddListed(SfzMapping mapping, string code, SfzProblemKind[] kinds, Func<string, string> sentence, Findings findings)
    {
        var problems = mapping.Problems.Where(p => kinds.Contains(p.Kind)).ToList();
        if (problems.Count == 0)
            return;
        var items = problems.ConvertAll(p => p.File == mapping.Path ? T($"{p.Text} (line {p.Line})") : T($"{p.Text} (line {p.Line} of {Words.Quote(p.File)})"));
        findings.Add(code, mapping.Path, sentence(Words.Some(items, 8)));
    }

    private static string LineOf(SfzMapping mapping, string file, int line) =>
        file == mapping.Path ? T($"Line {line}") : T($"Line {line} of {Words.Quote(file)}");
}
