using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Tests.Comparisons;

/// <summary>
/// What an old song can notice of a changed mapping: the examples of docs/versions.md, each as two mappings over the same recordings (c and d
/// sound held notes, s and t struck ones). Opcodes as sfzformat.com explains them.
/// </summary>
public sealed class NumberRuleTests
{
    private const string Held = "<region> sample=c.wav key=60 ", Struck = "<region> sample=s.wav key=60 ";
    private const string Switched = Held + "sw_last=24 sw_default=24 " + Struck + "sw_last=25 sw_default=24";

    // Key switches.
    [Theory]
    [InlineData(Switched, Held, "after the switch key C#1: the way of playing chosen so is there no more on C4")]
    [InlineData(Switched, Held + "sw_last=24 sw_default=24 " + Struck + "sw_last=26 sw_default=24", "after the switch key C#1, C4 sounds no more", "C#1")]
    [InlineData(Switched, Held + "sw_last=25 sw_default=25 " + Struck + "sw_last=24 sw_default=25", "another way of playing sounds on C4")]
    [InlineData(Switched, Held + "sw_last=24 sw_default=25 " + Struck + "sw_last=25 sw_default=25", "with nothing chosen before: another way of playing sounds on C4")]
    [InlineData(Switched, Held + "sw_last=24 " + Struck + "sw_last=25", "with nothing chosen before, C4 sounds no more")]
    [InlineData(Switched, Held + "sw_last=24 sw_default=24 sw_lokey=24 sw_hikey=24 " + Struck + "sw_last=25 sw_default=24 sw_lokey=24 sw_hikey=24", "C#1")]
    [InlineData(Held + "sw_lolast=24 sw_hilast=25 sw_default=24", Held + "sw_last=24 sw_default=24", "after the switch key C#1, C4 sounds no more")]
    [InlineData(Held, Held + "hicc1=63", "with controller 1 at 64, C4 sounds no more")]
    [InlineData(Held + Struck + "sw_down=24", Held + Struck + "sw_down=26 ", "while C1 is held: another way of playing sounds on C4")]
    [InlineData(Held + "sw_up=24 " + Struck + "sw_down=24", Held, "while C1 is held: the way of playing chosen so is there no more on C4")]
    [InlineData(Held + "sw_previous=62", Held + "sw_previous=64", "after the note D4, C4 sounds no more")]
    [InlineData(Held, Held + "sw_last=24", "with nothing chosen before, C4 sounds no more")]
    [InlineData(Held + "<region> sample=d.wav key=24", Held + "sw_last=24 sw_default=24 <region> sample=d.wav key=24", "C1, which sounded a note, chooses a way of playing now")]
    [InlineData(Held + "trigger=attack", Held + "trigger=legato", "C4 sounds no more")]
    [InlineData(Held + "trigger=attack", Held + "trigger=first", "in a bound note, C4 sounds no more")]
    [InlineData(Held + "locc64=0 hicc64=63 " + Struck + "locc64=64", Held + "locc64=0 hicc64=63", "with controller 64 at 64, C4 sounds no more")]
    [InlineData(Held + "lochan=2", Held + "lochan=3", "on channel 2, C4 sounds no more")]
    public void A_way_of_playing_gone_or_chosen_otherwise_is_major(string old, string next, params string[] words) => IsMajor(old, next, words);

    // Velocities and strokes.
    [Theory]
    [InlineData(Held, Held + "lovel=20", "some velocities of C4 sound no more")]
    [InlineData(Held + "lovel=1 hivel=63 " + Struck + "lovel=64", Held + "lovel=1 hivel=63 " + Struck + "lovel=80", "some velocities of C4 sound no more")]
    [InlineData(Held + "lovel=1 hivel=63 " + Struck + "lovel=64", Struck + "lovel=1 hivel=63 " + Held + "lovel=64", "the same recordings answer to other velocities on C4")]
    [InlineData(Held + "trigger=release " + Struck, Held + "trigger=release lovel=90 " + Struck, "some velocities of letting go of C4 sound no more")]
    [InlineData(Held + "seq_length=2 seq_position=1 " + Struck + "seq_length=2 seq_position=2", Held + "seq_length=2 seq_position=1", "some strokes on C4 sound nothing")]
    [InlineData(Held + "hirand=0.5 " + Struck + "lorand=0.5", Held + "hirand=0.5 " + Struck + "lorand=0.7", "some strokes on C4 sound nothing")]
    public void A_touch_that_sounds_no_more_is_major(string old, string next, params string[] words) => IsMajor(old, next, words);

    // Pitch.
    [Theory]
    [InlineData(Held, Held + "transpose=12", "the same recordings sound at another pitch on C4")]
    [InlineData(Held, Held + "pitch_keycenter=48", "the same recordings sound at another pitch on C4")]
    [InlineData(Held, Held + "tune=80", "the same recordings sound at another pitch on C4")]
    [InlineData("<region> sample=c.wav lokey=59 hikey=61", "<region> sample=c.wav lokey=59 hikey=61 pitch_keytrack=0", "another pitch on B3, C#4")]
    [InlineData("<region> sample=c.wav lokey=48 hikey=72", "<control> octave_offset=1 <region> sample=c.wav lokey=36 hikey=60", "the same recordings sound at another pitch on C3–C5")]
    [InlineData(Held, "<control> note_offset=2 " + Held, "nothing sounds on C4 any more", "what sounded elsewhere sounds on D4")]
    [InlineData(Held + "bend_up=200", Held + "bend_up=1200", "the pitch wheel bends otherwise on C4")]
    public void The_same_note_at_another_pitch_is_major(string old, string next, params string[] words) => IsMajor(old, next, words);

    // Controls.
    [Theory]
    [InlineData(Held + "cutoff_cc74=1200", Held, "it listens to controller 74 no more")]
    [InlineData(Held + "cutoff_oncc74=1200", Held + "cutoff_oncc74=0 cutoff_curvecc74=1", "it listens to controller 74 no more")]
    [InlineData(Held + "cutoff_cc74=1200 <region> sample=d.wav key=62 cutoff_cc74=1200", Held + "cutoff_cc74=1200 <region> sample=d.wav key=62", "controller 74 does nothing on D4 any more")]
    [InlineData(Held, Held + "sustain_sw=off", "it listens to controller 64 no more")]
    public void A_control_that_does_nothing_any_more_is_major(string old, string next, params string[] words) => IsMajor(old, next, words);

    [Theory]
    [InlineData(Held, Switched, Bump.Minor)]
    [InlineData(Held + "lovel=20", Held, Bump.Minor)]
    [InlineData(Held, Held + "gain_cc1=6", Bump.Minor)]
    [InlineData(Switched, Held + "sw_last=24 sw_default=24 " + Struck + "sw_lolast=25 sw_hilast=26 sw_default=24", Bump.Minor)]
    [InlineData(Held, Held + "tune=8", Bump.Patch)]
    [InlineData(Held, Held + "volume=-3", Bump.Patch)]
    [InlineData(Held, "<control> set_cc7=90 " + Held, Bump.Patch)]
    [InlineData(Held + "lovel=1 hivel=63 " + Struck + "lovel=64", Held + "lovel=1 hivel=69 " + Struck + "lovel=70", Bump.Patch)]
    [InlineData("<region> sample=c.wav lokey=59 hikey=61 pitch_keycenter=60", "<control> note_offset=-12 <region> sample=c.wav lokey=71 hikey=73 pitch_keycenter=72", Bump.Patch)]
    public void What_old_songs_sound_as_before_with_is_less(string old, string next, Bump bump) =>
        Assert.Equal((bump, bump), (Compare(old, next).Proposed.Bump, bump));

    private static void IsMajor(string old, string next, string[] words)
    {
        var proposed = Compare(old, next).Proposed;
        Assert.Equal(Bump.Major, proposed.Bump);
        foreach (var part in words)
            Assert.Contains(proposed.Because, b => b.Contains(part, StringComparison.Ordinal));
    }

    private static Comparison Compare(string old, string next) =>
        FolderComparison.Compare(Library(old).ToFolder(), Library(next).ToFolder(), "1.4.2", CancellationToken.None);

    /// <summary>The same recordings for all, so that nothing but the mapping differs.</summary>
    private static MadeLibrary Library(string mapping)
    {
        var library = new MadeLibrary { Mapping = mapping };
        foreach (var (name, seed) in new[] { ("c", 1), ("d", 2), ("s", 3), ("t", 4) })
            library.Files[name + ".wav"] = MadeLibrary.Wav(MadeLibrary.Struck(seed, 262));
        return library;
    }
}
