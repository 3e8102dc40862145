using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.CheckSheets;

public sealed class FolderCheckTests
{
    private static readonly RecordingFacts Good = new()
    {
        Container = "wav", Coding = "pcm", SampleRate = 44100, Bits = 24, Channels = 2, Frames = 1000, SamplePeakDbfs = -6,
    };

    [Fact]
    public void A_sound_folder_has_no_findings_and_is_counted()
    {
        var sheet = new Folder().With("S/A3.wav", Good).With("S/A#3.wav", Good).With("Jar.txt")
            .Sfz("Jar.sfz", "<region> sample=S/A3.wav key=57\n<region> sample=S/A#3.wav key=58").Judge();
        Assert.Empty(sheet.Findings);
        Assert.Equal((2, 2, 57, 58, 1, 1), (sheet.Count.Recordings, sheet.Count.Keys, sheet.Count.LowestKey, sheet.Count.HighestKey, sheet.Count.Layers, sheet.Count.Takes));
        Assert.Empty(sheet.Count.Articulations);
        Assert.Equal(new DeclaredNote(58, "mapping"), sheet.Notes["S/A#3.wav"]);
    }

    public static TheoryData<RecordingFacts, string> Faults => new()
    {
        { new() { Trouble = RecordingTrouble.NotARecording }, FindingCodes.RecordingUndecodable },
        { new() { Trouble = RecordingTrouble.Broken }, FindingCodes.RecordingUndecodable },
        { Good with { Trouble = RecordingTrouble.CutShort }, FindingCodes.RecordingCutShort },
        { Good with { Trouble = RecordingTrouble.Empty, Frames = 0 }, FindingCodes.RecordingEmpty },
        { new() { Container = "flac", Trouble = RecordingTrouble.NotRead }, FindingCodes.RecordingNotRead },
        { Good with { Silent = true, SamplePeakDbfs = null }, FindingCodes.RecordingSilent },
        { Good with { SamplePeakDbfs = -90.31 }, FindingCodes.RecordingSilent }, // one step of 16 bits: 20·log10(2^−15)
        { Good with { HasNonFinite = true }, FindingCodes.RecordingNotFinite },
        { Good with { ClippedRuns = 1 }, FindingCodes.RecordingClipped },
        { Good with { Loops = [new LoopPoints(10, 1000, LoopKind.Forward, 0)] }, FindingCodes.LoopOutside },
        { Good with { Loops = [new LoopPoints(20, 10, LoopKind.Forward, 0)] }, FindingCodes.LoopOutside },
        { Good with { SmplNote = 58 }, FindingCodes.NoteDisagrees },
    };

    [Theory]
    [MemberData(nameof(Faults))]
    public void Each_fault_of_a_recording_is_one_finding_about_it(RecordingFacts facts, string code)
    {
        var finding = Assert.Single(new Folder().With("A3.wav", facts).Sfz("x.sfz", "<region> sample=A3.wav key=57").Judge().Findings);
        Assert.Equal((code, FindingCodes.SeverityOf(code), "A3.wav"), (finding.Code, finding.Severity, finding.Path));
    }

    [Theory]
    [InlineData(-90.0, false)]
    [InlineData(-89.0, false)]
    public void What_can_just_be_heard_is_not_silent(double peak, bool isSilent) =>
        Assert.Equal(isSilent, Codes(new Folder().With("A3.wav", Good with { SamplePeakDbfs = peak })).Contains(FindingCodes.RecordingSilent));

    [Fact]
    public void A_loop_to_the_very_last_frame_is_fine() =>
        Assert.DoesNotContain(FindingCodes.LoopOutside, Codes(new Folder().With("A3.wav", Good with { Loops = [new LoopPoints(0, 999, LoopKind.Forward, 0)] })));

    [Fact]
    public void Formats_that_differ_are_one_finding_each()
    {
        var sheet = new Folder().With("a.wav", Good).With("b.wav", Good).With("c.wav", Good with { SampleRate = 48000, Bits = 16, Channels = 1 })
            .Sfz("x.sfz", "<region> sample=a.wav\n<region> sample=b.wav\n<region> sample=c.wav").Judge();
        Assert.Equal([FindingCodes.RatesDiffer, FindingCodes.ChannelsDiffer, FindingCodes.BitsDiffer], sheet.Findings.Select(f => f.Code));
        Assert.Contains("44100 Hz in 2 recordings; 48000 Hz in 1 recording (c.wav)", sheet.Findings[0].Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_recording_that_was_not_read_is_not_compared() =>
        Assert.Equal([FindingCodes.RecordingNotRead], Codes(new Folder().With("a.wav", Good)
            .With("b.flac", new RecordingFacts { Container = "flac", Trouble = RecordingTrouble.NotRead })
            .Sfz("x.sfz", "<region> sample=a.wav\n<region> sample=b.flac")));

    [Theory]
    [InlineData("<region> sample=b.wav", FindingCodes.MappingMissingFile)]
    [InlineData("<region> sample=A.WAV", FindingCodes.MappingOtherSpelling)]
    [InlineData("<region> sample=../a.wav", FindingCodes.MappingLeavesFolder)]
    [InlineData("#include \"gone.txt\"", FindingCodes.MappingMissingFile)]
    [InlineData("#include \"../gone.txt\"", FindingCodes.MappingLeavesFolder)]
    [InlineData("<region> foo=1", FindingCodes.MappingUnknownWords)]
    [InlineData("<region> lokey=z", FindingCodes.MappingUnreadableText)]
    [InlineData("<region> sample=a.wav key=60\n<region> sample=a.wav key=63", FindingCodes.KeysMissing)]
    [InlineData("<region> seq_length=2 sample=a.wav", FindingCodes.TakesMissing)]
    public void Each_fault_of_a_mapping_is_a_finding_about_it(string text, string code)
    {
        var sheet = new Folder().With("a.wav", Good).Sfz("x.sfz", "<region> sample=a.wav key=60\n" + text).Judge();
        var finding = Assert.Single(sheet.Findings, f => f.Code == code);
        Assert.Equal("x.sfz", finding.Path);
        Assert.Equal(FindingCodes.SeverityOf(code), finding.Severity);
    }

    [Fact]
    public void Generated_sounds_and_backslashes_are_no_faults() =>
        Assert.Empty(Codes(new Folder().With("S/a.wav", Good).Sfz("x.sfz", "<region> sample=S\\a.wav key=60\n<region> sample=*silence key=61")));

    [Fact]
    public void A_recording_that_no_mapping_uses_is_told_and_an_unread_mapping_named()
    {
        var folder = new Folder().With("a.wav", Good).With("b.wav", Good).With("Jar.player").Sfz("x.sfz", "<region> sample=a.wav");
        var unused = Assert.Single(folder.Judge().Findings, f => f.Code == FindingCodes.RecordingUnused);
        Assert.Equal("b.wav", unused.Path);
        Assert.Contains("“Jar.player”", unused.Message, StringComparison.Ordinal);
        Assert.Equal(Severity.Fine, Assert.Single(folder.Judge().Findings, f => f.Code == FindingCodes.FileKept).Severity);
    }

    [Fact]
    public void Without_any_mapping_only_that_is_said() =>
        Assert.Equal([FindingCodes.MappingNone], Codes(new Folder().With("a.wav", Good).With("b.wav", Good)));

    [Fact]
    public void An_empty_folder_and_one_without_recordings_must_be_mended()
    {
        Assert.Equal([FindingCodes.FolderEmpty], Codes(new Folder()));
        Assert.Equal([FindingCodes.FolderEmpty], Codes(new Folder().With("notes.txt")));
    }

    [Fact]
    public void Names_are_judged_whatever_the_file()
    {
        Assert.Contains(FindingCodes.NameUnportable, Codes(new Folder().With("con.txt")));
        Assert.Contains(FindingCodes.NameCollision, Codes(new Folder().With("a.txt").With("A.txt")));
        Assert.Contains(FindingCodes.NameDecomposed, Codes(new Folder().With("e\u0301.txt")));
        Assert.Contains(FindingCodes.MappingOtherSpelling, Codes(new Folder().With("e\u0301.wav", Good).Sfz("x.sfz", "<region> sample=\u00E9.wav")));
    }

    [Fact]
    public void An_included_mapping_is_no_way_of_playing()
    {
        var sheet = new Folder().With("a.wav", Good).Sfz("part.sfz", "<region> sample=a.wav").Sfz("Jar.sfz", "#include \"part.sfz\"").Judge();
        Assert.Empty(sheet.Findings);
        Assert.Empty(sheet.Count.Articulations);
    }

    [Fact]
    public void A_kit_may_have_gaps_and_is_not_asked_for_notes()
    {
        const string Gaps = "<region> sample=a.wav key=36\n<region> sample=a.wav key=40";
        Assert.Contains(FindingCodes.KeysMissing, Codes(new Folder().With("a.wav", Good).Sfz("x.sfz", Gaps)));
        Assert.Empty(new Folder().With("a.wav", Good with { SmplNote = 57 }).Sfz("x.sfz", Gaps).Judge(isPitched: false).Findings);
        Assert.Empty(Codes(new Folder().With("a.wav", Good).Sfz("x.sfz", "<global> pitch_keytrack=0\n" + Gaps)));
    }

    [Fact]
    public void One_smpl_note_in_every_file_is_taken_for_unset()
    {
        const string Map = "<region> sample=a.wav key=57\n<region> sample=b.wav key=58";
        Assert.Empty(Codes(new Folder().With("a.wav", Good with { SmplNote = 60 }).With("b.wav", Good with { SmplNote = 60 }).Sfz("x.sfz", Map)));
        Assert.Equal([FindingCodes.NoteDisagrees], Codes(new Folder().With("a.wav", Good with { SmplNote = 57 }).With("b.wav", Good with { SmplNote = 60 }).Sfz("x.sfz", Map)));
    }

    [Fact]
    public void Worst_come_first_and_one_code_never_drowns_the_sheet()
    {
        var folder = new Folder();
        for (var i = 0; i < 250; i++)
            folder.With($"{i:000}.wav", Good with { ClippedRuns = 1 });
        var findings = folder.With("z.wav", Good with { Silent = true }).Judge().Findings;
        Assert.Equal(FindingCodes.RecordingSilent, findings[0].Code);
        Assert.Equal(101, findings.Count(f => f.Code == FindingCodes.RecordingClipped));
        Assert.Contains("150 more", findings.Last(f => f.Code == FindingCodes.RecordingClipped).Message, StringComparison.Ordinal);
        Assert.Equal(findings.Select(f => f.Severity).Order(), findings.Select(f => f.Severity));
    }

    [Fact]
    public void Every_code_is_explained_in_the_docs_with_its_severity()
    {
        var rows = RowsUnder("## Codes");
        var words = new Dictionary<Severity, string> { [Severity.MustFix] = "must fix", [Severity.ListenAgain] = "listen again", [Severity.Fine] = "fine" };
        Assert.Equal(FindingCodes.All.ToDictionary(c => c, c => words[FindingCodes.SeverityOf(c)]), rows);
    }

    [Fact]
    public void Every_limit_is_explained_in_the_docs_with_its_default()
    {
        var defaults = Limit.All.ToDictionary(
            l => l.Name, l => Math.Round(l.Get(LibraryLimits.Default), 6).ToString(System.Globalization.CultureInfo.InvariantCulture).Replace('-', '−'));
        Assert.Equal(defaults, RowsUnder("## Limits").ToDictionary(r => r.Key, r => r.Value.Split(' ')[0]));
    }

    /// <summary>The second cell by the first, of a heading's table.</summary>
    private static Dictionary<string, string> RowsUnder(string heading) =>
        File.ReadAllLines(Path.Combine(Root(), "docs", "checks.md")).SkipWhile(l => l != heading).Skip(1).TakeWhile(l => !l.StartsWith("## ", StringComparison.Ordinal))
            .Where(l => l.StartsWith("| `", StringComparison.Ordinal)).Select(l => l.Split(" | ")).ToDictionary(c => c[0].Trim(' ', '`', '|'), c => c[1].Trim());

    private static string Root()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "LibraryShelf.sln")))
            folder = folder.Parent;
        return folder!.FullName;
    }

    private static IEnumerable<string> Codes(Folder folder) => folder.Judge().Findings.Select(f => f.Code);
}
