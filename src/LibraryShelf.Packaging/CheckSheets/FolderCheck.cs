using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Judges a whole library folder. Pure: the same folder and facts give the same sheet on the shelf and on the maker's machine.</summary>
public static class FolderCheck
{
    public static CheckSheet Judge(FolderToJudge folder)
    {
        ArgumentNullException.ThrowIfNull(folder);
        var findings = new Findings();
        var byKind = folder.Files.Select(f => f.Path).Order(StringComparer.Ordinal).ToLookup(FileKinds.Of);
        if (!byKind[FileKind.Recording].Any())
            findings.Add(FindingCodes.FolderEmpty, null, folder.Files.Count == 0
                ? T("The folder is empty. Send the library’s folder.")
                : T("The folder holds no recording. Send the folder that holds the library’s recordings."));

        NameChecks.Judge(folder.Files, findings);
        RecordingChecks.Judge(folder.Recordings, folder.Limits, findings);
        FormatChecks.Judge(folder.Recordings, findings);
        var mappings = ReadMappings(folder, [.. byKind[FileKind.Mapping]], findings);
        JudgeMappings(folder, mappings, byKind, findings);
        SameSoundChecks.Judge(byKind[FileKind.Recording], folder.Hashes, findings);
        // A wrong spelling is told once; what the mapping says of the recording still holds.
        mappings = AsSpelledIn(folder.Files, mappings);
        var notes = DeclaredNotes.Of(
            folder.Recordings, folder.IsPitched ? mappings : [], folder.Limits.Naming, folder.IsPitched ? findings : new Findings());
        var places = RecordingPlaces.Of([.. byKind[FileKind.Recording]], mappings, notes);
        JudgePlaced(folder, mappings, places, findings);
        foreach (var kept in byKind[FileKind.Other])
            findings.Add(FindingCodes.FileKept, kept, T("Kept as it is. LibraryShelf can’t read this kind of file, so nothing in it was checked: open it once in its player before sealing."));
        return new CheckSheet(findings.WorstFirst(), CountOf(byKind[FileKind.Recording].Count(), mappings)) { Notes = notes, Places = places };
    }

    private static void JudgePlaced(FolderToJudge folder, List<SfzMapping> mappings, IReadOnlyList<RecordingPlace> places, Findings findings)
    {
        var placed = places.Where(p => folder.Recordings.TryGetValue(p.Path, out var facts) && facts.Frames > 0)
            .Select(p => new PlacedRecording(p, folder.Recordings[p.Path])).ToList();
        LevelChecks.Judge(placed, LoopedIn(mappings), folder.Limits, findings);
        LoudnessChecks.Judge(placed, folder.Limits, findings);
        if (folder.IsPitched)
            PitchChecks.Judge(placed, mappings, folder.Limits.Naming, findings);
    }

    private static List<SfzMapping> AsSpelledIn(IReadOnlyList<FolderFile> files, List<SfzMapping> mappings)
    {
        var exact = files.Select(f => f.Path).ToHashSet(StringComparer.Ordinal);
        var bySpelling = files.Select(f => f.Path).ToLookup(NameKey.Of, StringComparer.Ordinal);
        return mappings.ConvertAll(m => m with { Regions = [.. m.Regions.Select(AsSpelled)] });

        SfzRegion AsSpelled(SfzRegion region) =>
            region.Sample is { } sample && !exact.Contains(sample) && bySpelling[NameKey.Of(sample)].FirstOrDefault() is { } other ? region with { Sample = other } : region;
    }

    /// <summary>Recordings that some mapping loops.</summary>
    private static HashSet<string> LoopedIn(List<SfzMapping> mappings) =>
        mappings.SelectMany(m => m.Regions).Where(r => r.Sample is not null && r.Word("loop_mode") is "loop_continuous" or "loop_sustain")
            .Select(r => r.Sample!).ToHashSet(StringComparer.Ordinal);

    private static void JudgeMappings(FolderToJudge folder, List<SfzMapping> mappings, ILookup<FileKind, string> byKind, Findings findings)
    {
        foreach (var mapping in mappings)
        {
            MappingChecks.JudgeText(mapping, findings);
            CoverageChecks.Judge(mapping, Coverage.Of(mapping), folder.IsPitched, folder.Limits.Naming, findings);
            RangeChecks.Judge(mapping, folder.Limits.Naming, findings);
        }
        var used = MappingChecks.JudgeFiles(mappings, folder.Files, findings);
        string[] kept = [.. byKind[FileKind.Other]];
        MappingChecks.JudgeUnused(byKind[FileKind.Recording], mappings, used, kept, findings);
        if (byKind[FileKind.Recording].Any() && !byKind[FileKind.Mapping].Any())
            findings.Add(FindingCodes.MappingNone, null, kept.Length == 0
                ? T("There is no mapping, so nothing says which recording sounds for which key. Add an SFZ file, or write in the steps for installing how the recordings are played.")
                : T($"There is no SFZ mapping, only {Words.Some([.. kept.Select(Words.Quote)], 3)}, which can’t be read here: keys, layers and takes are not counted. Add an SFZ file if you can."));
    }

    /// <summary>The mappings that a person opens: SFZ files that no other one includes.</summary>
    private static List<SfzMapping> ReadMappings(FolderToJudge folder, IReadOnlyList<string> paths, Findings findings)
    {
        var mappings = new List<SfzMapping>();
        var budget = new MappingBudget();
        foreach (var path in paths)
        {
            var text = folder.ReadText(path);
            if (text?.Contains('\0', StringComparison.Ordinal) == true)
                findings.Add(FindingCodes.MappingUnreadable, path,
                    T("The mapping holds NUL characters, so it is no plain text or is written in UTF-16, and was not read. Save it as UTF-8."));
            else if (text is not null)
                mappings.Add(SfzParser.Parse(path, text, folder.ReadText, budget));
            else
                findings.Add(FindingCodes.MappingUnreadable, path,
                    T($"The mapping is larger than {MappingText.MaxBytes >> 20} MiB and was not read. Split it into smaller files."));
        }
        var included = mappings.SelectMany(m => m.Includes).ToHashSet(StringComparer.Ordinal);
        return mappings.FindAll(m => !included.Contains(m.Path));
    }

    private static LibraryCount CountOf(int recordings, List<SfzMapping> mappings)
    {
        var sounding = mappings.FindAll(m => m.Regions.Any(r => r.SampleText is not null));
        var coverages = sounding.ConvertAll(Coverage.Of);
        var keys = coverages.SelectMany(c => c.Keys).Distinct().Order().ToList();
        return new LibraryCount(
            recordings,
            keys.Count,
            keys.Count > 0 ? keys[0] : null,
            keys.Count > 0 ? keys[^1] : null,
            coverages.Select(c => c.Layers).DefaultIfEmpty().Max(),
            coverages.Select(c => c.Takes).DefaultIfEmpty().Max(),
            Articulations.NamesOf(sounding.ConvertAll(m => m.Path)));
    }
}
