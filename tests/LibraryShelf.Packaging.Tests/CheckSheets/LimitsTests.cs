using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Packaging.Tests.CheckSheets;

/// <summary>Each limit, at it and beyond it; and limits as a file.</summary>
public sealed class LimitsTests
{
    private static readonly RecordingFacts Sound = new()
    {
        Container = "wav", Coding = "pcm", SampleRate = 48000, Bits = 24, Channels = 2, Frames = 96000, SamplePeakDbfs = -3, TruePeakDbtp = -2.9, DcOffset = [0, 0],
        LoudnessLufs = -20, MomentaryMaxLufs = -18, LoudestRmsDbfs = -12, LeadInMs = 5, AttackMs = 20, TailDbfs = -80, NoiseFloorDbfs = -80,
    };

    public static TheoryData<RecordingFacts, RecordingFacts, string> Beyond => new()
    {
        { Sound with { ClippedRuns = 9 }, Sound with { ClippedRuns = 10 }, FindingCodes.RecordingClippedHard },
        { Sound with { TruePeakDbtp = 0 }, Sound with { TruePeakDbtp = 0.1 }, FindingCodes.TruePeakOver },
        { Sound with { DcOffset = [0, -0.01] }, Sound with { DcOffset = [0, -0.011] }, FindingCodes.DcOffset },
        { Sound with { NoiseFloorDbfs = -55 }, Sound with { NoiseFloorDbfs = -54.9 }, FindingCodes.NoiseHigh },
        { Sound with { LeadInMs = 20 }, Sound with { LeadInMs = 20.1 }, FindingCodes.LeadInLong },
        { Sound with { LeadInMs = 60, AttackMs = 300 }, Sound with { LeadInMs = 61, AttackMs = 300 }, FindingCodes.LeadInLong }, // a swell
        { Sound with { TailDbfs = -52 }, Sound with { TailDbfs = -51.9 }, FindingCodes.TailCut },
        { Sound with { LoudestRmsDbfs = -30, TailDbfs = -56 }, Sound with { LoudestRmsDbfs = -30, TailDbfs = -54 }, FindingCodes.TailCut }, // below all noise that is allowed
        { Sound with { TailDbfs = -20, Loops = [new LoopPoints(0, 10, LoopKind.Forward, 0)] }, Sound with { TailDbfs = -20 }, FindingCodes.TailCut },
        { Sound with { TailDbfs = -12, Frames = 7000 }, Sound with { TailDbfs = -12, Frames = 7200 }, FindingCodes.TailCut }, // too short for a tail
        { Sound, Sound with { SilentChannels = [1] }, FindingCodes.ChannelSilent },
        { Sound, Sound with { ChannelsIdentical = true }, FindingCodes.ChannelsIdentical },
        { Sound, Sound with { ChannelsInverted = true }, FindingCodes.ChannelsInverted },
        { Sound with { Pitch = new PitchEstimate(223, 57, 18, 0.99) }, Sound with { Pitch = new PitchEstimate(246.9, 59, 0, 0.99) }, FindingCodes.PitchFar },
        { Sound with { Pitch = new PitchEstimate(246.9, 59, 0, 0.8) }, Sound with { Pitch = new PitchEstimate(246.9, 59, 0, 0.9) }, FindingCodes.PitchFar },
        { Sound with { Pitch = new PitchEstimate(660, 76, 0, 0.99) }, Sound with { Pitch = new PitchEstimate(370, 66, 0, 0.99) }, FindingCodes.PitchFar }, // its third partial
    };

    [Theory]
    [MemberData(nameof(Beyond))]
    public void At_a_limit_nothing_is_said_and_beyond_it_one_thing(RecordingFacts at, RecordingFacts beyond, string code)
    {
        Assert.DoesNotContain(Judge(at), f => f.Code == code);
        var finding = Assert.Single(Judge(beyond));
        Assert.Equal((code, "A3.wav", FindingCodes.SeverityOf(code)), (finding.Code, finding.Path, finding.Severity));
    }

    [Fact]
    public void What_was_not_measured_is_passed_over() =>
        Assert.Empty(Judge(new RecordingFacts { Container = "wav", Coding = "pcm", SampleRate = 48000, Bits = 24, Channels = 1, Frames = 96000 }));

    [Fact]
    public void A_layer_no_louder_than_the_one_below_is_told_by_the_middle_of_its_takes()
    {
        var folder = new Folder().With("s1.wav", Loud(-20)).With("s2.wav", Loud(-22)).With("h1.wav", Loud(-21.5)).With("h2.wav", Loud(-20.5))
            .Sfz("x.sfz", """
                <group> key=57 hivel=60 seq_length=2 <region> sample=s1.wav seq_position=1 <region> sample=s2.wav seq_position=2
                <group> key=57 lovel=61 seq_length=2 <region> sample=h1.wav seq_position=1 <region> sample=h2.wav seq_position=2
                """);
        // The middle of both is −21: not louder.
        var finding = Assert.Single(folder.Judge().Findings);
        Assert.Equal((FindingCodes.LayersOutOfOrder, "h1.wav"), (finding.Code, finding.Path));
        Assert.Contains("−21.0 against −21.0 LUFS", finding.Message, StringComparison.Ordinal);
        Assert.Empty(folder.Judge(limits: new LibraryLimits { LayerStepDb = -1 }).Findings);
    }

    [Fact]
    public void The_odd_take_is_told_and_not_its_siblings()
    {
        var folder = new Folder().With("1.wav", Loud(-20)).With("2.wav", Loud(-20.5)).With("3.wav", Loud(-24)).Sfz("x.sfz", """
            <group> key=57 seq_length=3 <region> sample=1.wav seq_position=1 <region> sample=2.wav seq_position=2 <region> sample=3.wav seq_position=3
            """);
        var finding = Assert.Single(folder.Judge().Findings);
        Assert.Equal((FindingCodes.TakesUneven, "3.wav"), (finding.Code, finding.Path));
        Assert.StartsWith("3.8 dB softer than its siblings", finding.Message, StringComparison.Ordinal); // against the middle of −20 and −20.5
        Assert.Empty(folder.Judge(limits: new LibraryLimits { TakeSpreadDb = 4 }).Findings);
    }

    [Fact]
    public void Two_takes_too_short_for_loudness_are_compared_by_their_loudest_moment()
    {
        var findings = new Folder().With("1.wav", Loud(-20) with { MomentaryMaxLufs = null, LoudestRmsDbfs = -10 }).With("2.wav", Loud(-20) with { LoudestRmsDbfs = -14 })
            .Sfz("x.sfz", "<group> key=57 seq_length=2 <region> sample=1.wav seq_position=1 <region> sample=2.wav seq_position=2").Judge().Findings;
        Assert.Contains("dBFS", Assert.Single(findings, f => f.Code == FindingCodes.TakesUneven).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void The_same_bytes_under_two_names_are_told_once()
    {
        var hashes = new Dictionary<string, string> { ["a.wav"] = "aa", ["b.wav"] = "aa", ["c.wav"] = "cc" };
        var findings = new Folder().With("a.wav", Sound).With("b.wav", Sound).With("c.wav", Sound).Judge(hashes: hashes).Findings;
        Assert.Equal("b.wav", Assert.Single(findings, f => f.Code == FindingCodes.SameSound).Path);
    }

    [Theory]
    [InlineData("<region> sample=A3.wav key=57 lovel=20", "velocities 1–19 on A3")]
    [InlineData("<region> sample=A3.wav key=57 hivel=60 <region> sample=A3.wav key=57 lovel=62", "velocity 61 on A3")]
    [InlineData("<region> sample=A3.wav key=57 lovel=0", null)]
    public void A_gap_in_velocities_is_named(string sfz, string? said) => AssertSaid(sfz, FindingCodes.VelocitiesMissing, said);

    [Theory]
    [InlineData("<region> sample=A3.wav key=57 hivel=64 <region> sample=A3.wav key=57 lovel=64", "velocity ranges overlap")]
    [InlineData("<region> sample=A3.wav key=57 hivel=64 <region> sample=A3.wav key=57 lovel=65", null)]
    [InlineData("<region> sample=A3.wav key=57 hivel=70 xfout_lovel=60 xfout_hivel=70 <region> sample=A3.wav key=57 lovel=60 xfin_lovel=60 xfin_hivel=70", null)]
    [InlineData("<region> sample=A3.wav key=57 sw_last=24 hivel=127 <region> sample=A3.wav key=57 sw_last=25 lovel=0", null)]
    [InlineData("<region> sample=A3.wav lokey=55 hikey=58 pitch_keycenter=57 <region> sample=A3.wav lokey=58 hikey=60 pitch_keycenter=60", "notes sound at once on A#3")]
    [InlineData("<region> sample=A3.wav lokey=55 hikey=57 pitch_keycenter=57 <region> sample=A3.wav lokey=58 hikey=60 pitch_keycenter=60", null)]
    public void Ranges_that_overlap_are_named(string sfz, string? said) => AssertSaid(sfz, FindingCodes.RangesOverlap, said);

    [Fact]
    public void Limits_survive_their_file_and_defaults_are_not_written()
    {
        Assert.Equal("", LimitsText.Write(LibraryLimits.Default));
        var odd = Limit.All.Aggregate(LibraryLimits.Default, (l, limit) => limit.With(l, limit.Least));
        Assert.True(LimitsText.TryRead(LimitsText.Write(odd), out var read, out var why), why);
        Assert.Equal(odd, read);
        Assert.All(Limit.All, l => Assert.Null(l.WhyRefused(l.Get(LibraryLimits.Default))));
    }

    [Theory]
    [InlineData("[]", "no JSON object")]
    [InlineData("{", "no JSON")]
    [InlineData("{}", "schema")]
    [InlineData("""{"schema":"libraryshelf/limits/1","loudest":1}""", "no limit “loudest”")]
    [InlineData("""{"schema":"libraryshelf/limits/1","middleCOctave":3.5}""", "whole number from 3 to 4")]
    [InlineData("""{"schema":"libraryshelf/limits/1","longestLeadInMs":-1}""", "from 0 to 10000")]
    [InlineData("""{"schema":"libraryshelf/limits/1","longestLeadInMs":"20"}""", "no number")]
    public void A_file_that_is_none_is_refused_and_says_why(string json, string said)
    {
        Assert.False(LimitsText.TryRead(json, out var limits, out var why));
        Assert.Contains(said, why, StringComparison.Ordinal);
        Assert.Equal(LibraryLimits.Default, limits);
    }

    private static RecordingFacts Loud(double momentary) => Sound with { MomentaryMaxLufs = momentary };

    private static IReadOnlyList<Finding> Judge(RecordingFacts facts) =>
        new Folder().With("A3.wav", facts).Sfz("x.sfz", "<region> sample=A3.wav key=57").Judge().Findings;

    private static void AssertSaid(string sfz, string code, string? said)
    {
        var finding = new Folder().With("A3.wav", Sound).Sfz("x.sfz", sfz).Judge().Findings.SingleOrDefault(f => f.Code == code);
        Assert.Equal(said is null, finding is null);
        if (said is not null)
            Assert.Contains(said, finding!.Message, StringComparison.Ordinal);
    }
}
