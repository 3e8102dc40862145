using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Packaging.Tests.CheckSheets;

public sealed class RecordingPlacesTests
{
    private static readonly RecordingFacts Sound = new() { Container = "wav", Coding = "pcm", SampleRate = 48000, Bits = 24, Channels = 1, Frames = 48000, SamplePeakDbfs = -6 };

    [Fact]
    public void The_mapping_says_layer_take_microphone_lift_and_way()
    {
        var folder = new Folder();
        foreach (var path in new[] { "near/C3_soft_1.wav", "near/C3_soft_2.wav", "near/C3_hard_1.wav", "room/C3_soft_1.wav", "room/C3_soft_2.wav", "room/C3_hard_1.wav", "C3_lift.wav", "C3_rolled.wav" })
            folder.With(path, Sound);
        var sheet = folder
            .Sfz("Tin struck.sfz", """
                <group> key=48 hivel=80 seq_length=2
                <region> sample=near/C3_soft_1.wav seq_position=1 <region> sample=room/C3_soft_1.wav seq_position=1
                <region> sample=near/C3_soft_2.wav seq_position=2 <region> sample=room/C3_soft_2.wav seq_position=2
                <group> key=48 lovel=81 <region> sample=near/C3_hard_1.wav <region> sample=room/C3_hard_1.wav
                <group> key=48 trigger=release <region> sample=C3_lift.wav
                """)
            .Sfz("Tin rolled.sfz", "<region> sample=C3_rolled.wav lokey=40 hikey=50 pitch_keycenter=48")
            .Judge();
        var places = sheet.Places.ToDictionary(p => p.Path, StringComparer.Ordinal);
        Assert.Equal(sheet.Places.Select(p => p.Path).Order(StringComparer.Ordinal), sheet.Places.Select(p => p.Path));
        AssertPlace(places["near/C3_soft_2.wav"], (1, 2, 2), "struck", "near", false);
        AssertPlace(places["room/C3_soft_1.wav"], (1, 2, 1), "struck", "room", false);
        AssertPlace(places["near/C3_hard_1.wav"], (2, 2, 1), "struck", "near", false);
        AssertPlace(places["C3_lift.wav"], (1, 1, 1), "struck", "", true);
        AssertPlace(places["C3_rolled.wav"], (1, 1, 1), "rolled", "", false);
        Assert.Equal((48, "mapping", 40, 50), (places["C3_rolled.wav"].Note, places["C3_rolled.wav"].NoteFrom, places["C3_rolled.wav"].LowKey, places["C3_rolled.wav"].HighKey));
        Assert.DoesNotContain(sheet.Findings, f => f.Code == FindingCodes.RangesOverlap); // two microphones are meant to sound at once
    }

    [Theory]
    [InlineData("Jar A3 soft rr2.wav", 57, 1, 2, false)]
    [InlineData("Jar_A3_hard_1.wav", 57, 2, 1, false)]
    [InlineData("Jar_A3_lift.wav", 57, null, null, true)]
    [InlineData("A3v10.wav", 57, 3, null, false)]
    [InlineData("knock.wav", null, null, null, false)]
    public void Without_a_mapping_the_name_says_it(string path, int? note, int? layer, int? take, bool isLift)
    {
        var folder = new Folder();
        foreach (var one in new[] { "Jar A3 soft rr2.wav", "Jar_A3_hard_1.wav", "Jar_A3_lift.wav", "A3v10.wav", "knock.wav" })
            folder.With(one, Sound);
        var place = folder.Judge().Places.Single(p => p.Path == path);
        Assert.Equal((note, layer, take, isLift), (place.Note, place.Layer, place.Take, place.IsLift));
        Assert.Equal(note is null ? null : "name", place.NoteFrom);
    }

    [Fact]
    public void A_recording_spelled_otherwise_than_in_the_mapping_keeps_its_place()
    {
        var place = Assert.Single(new Folder().With("S/HARD.WAV", Sound)
            .Sfz("x.sfz", "<region> sample=S/hard.wav key=50 lovel=100\n<region> sample=*sine key=50 hivel=99").Judge().Places);
        Assert.Equal(("S/HARD.WAV", 50), (place.Path, place.Note));
    }

    [Fact]
    public void Chunks_come_before_names_and_smpl_before_inst()
    {
        var places = new Folder().With("C4.wav", Sound with { SmplNote = 61, InstNote = 62 }).With("C5.wav", Sound with { InstNote = 72 }).Judge().Places;
        Assert.Equal([(61, "smpl"), (72, "inst")], places.Select(p => (p.Note!.Value, p.NoteFrom!)));
    }

    [Fact]
    public void Middle_C_may_be_C3()
    {
        var place = Assert.Single(new Folder().With("C3.wav", Sound).Judge(limits: new LibraryLimits { MiddleCOctave = 3 }).Places);
        Assert.Equal(60, place.Note); // MIDI 1.0 numbers middle C 60 and leaves the octave's number open
        Assert.Equal(48, Assert.Single(new Folder().With("C3.wav", Sound).Judge().Places).Note);
    }

    [Fact]
    public void Names_an_octave_off_are_one_finding_and_one_odd_name_another()
    {
        var folder = new Folder();
        var text = "";
        foreach (var (name, key) in new[] { ("C3", 60), ("D3", 62), ("E3", 64), ("G3", 65) })
        {
            folder.With($"{name}.wav", Sound);
            text += $"<region> sample={name}.wav key={key}\n";
        }
        var findings = folder.Sfz("x.sfz", text).Judge().Findings;
        Assert.Contains("C3", Assert.Single(findings, f => f.Code == FindingCodes.NamesOctaveOff).Message, StringComparison.Ordinal);
        Assert.Equal("G3.wav", Assert.Single(findings, f => f.Code == FindingCodes.NoteDisagrees).Path);
        Assert.DoesNotContain(folder.Judge(limits: new LibraryLimits { MiddleCOctave = 3 }).Findings, f => f.Code == FindingCodes.NamesOctaveOff);
    }

    [Fact]
    public void Twenty_thousand_regions_are_placed()
    {
        var folder = new Folder();
        var text = new System.Text.StringBuilder();
        for (var i = 0; i < 2_000; i++)
            folder.With($"{i}.wav", Sound);
        for (var i = 0; i < 20_000; i++)
            text.Append(System.Globalization.CultureInfo.InvariantCulture, $"<region> sample={i % 2_000}.wav key={i % 128} lovel={1 + i / 128 % 16 * 8} hivel={8 + i / 128 % 16 * 8}\n");
        Assert.Equal(2_000, folder.Sfz("x.sfz", text.ToString()).Judge().Places.Count(p => p.Layer is not null));
    }

    private static void AssertPlace(RecordingPlace place, (int Layer, int Layers, int Take) where, string way, string microphone, bool isLift) => Assert.Equal(
        ((int?)where.Layer, (int?)where.Layers, (int?)where.Take, way, microphone, isLift),
        (place.Layer, place.Layers, place.Take, place.Articulation, place.Microphone, place.IsLift));
}
