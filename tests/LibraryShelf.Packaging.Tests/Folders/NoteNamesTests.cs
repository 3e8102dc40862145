using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Folders;

// Names: C4 = 60 (middle C is 60 in MIDI 1.0; the octave label is a convention), as the usual tables for 440·2^((n−69)/12) Hz give them.
public sealed class NoteNamesTests
{
    [Theory]
    [InlineData(0, "C-1")]
    [InlineData(1, "C#-1")]
    [InlineData(11, "B-1")]
    [InlineData(12, "C0")]
    [InlineData(21, "A0")]
    [InlineData(58, "A#3")]
    [InlineData(60, "C4")]
    [InlineData(69, "A4")]
    [InlineData(70, "A#4")]
    [InlineData(108, "C8")]
    [InlineData(127, "G9")]
    public void Numbers_have_names_and_names_numbers(int note, string name)
    {
        Assert.Equal(name, NoteNames.Name(note));
        Assert.True(NoteNames.TryParse(name, out var back));
        Assert.Equal(note, back);
    }

    [Fact]
    public void Every_name_reads_back()
    {
        for (var note = 0; note <= 127; note++)
            Assert.Equal((true, note), (NoteNames.TryParse(NoteNames.Name(note).ToLowerInvariant(), out var back), back));
    }

    [Theory]
    [InlineData("Bb2", 46)]
    [InlineData("B♭2", 46)]
    [InlineData("f♯4", 66)]
    [InlineData("Cb4", 59)]
    [InlineData("B#3", 60)]
    public void Flats_and_signs_are_read(string name, int note)
    {
        Assert.True(NoteNames.TryParse(name, out var read));
        Assert.Equal(note, read);
    }

    [Theory]
    [InlineData("")]
    [InlineData("H3")]
    [InlineData("G#9")]
    [InlineData("C-2")]
    [InlineData("Cb-1")]
    [InlineData("C4 ")]
    [InlineData("C4\n")]
    [InlineData("C\u0664")] // an Arabic-Indic four
    [InlineData("60")]
    public void What_is_no_note_is_refused(string text) => Assert.False(NoteNames.TryParse(text, out _));

    [Fact]
    public void Numbers_outside_MIDI_have_no_name()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => NoteNames.Name(-1));
        Assert.Throws<ArgumentOutOfRangeException>(() => NoteNames.Name(128));
    }

    [Theory]
    [InlineData("Samples/Jar A#3 take 2.wav", 58)]
    [InlineData("Jar_As3_v2.wav", 58)]
    [InlineData("Jar-Bb2.wav", 46)]
    [InlineData("C-1.wav", 0)]
    [InlineData("a4.wav", 69)]
    [InlineData("A4/soft.wav", null)] // the folder is not the name
    [InlineData("Jar.wav", null)]
    [InlineData("Jar C3 E4.wav", null)]
    [InlineData("Jar C3 C3.wav", 48)]
    [InlineData("F#3v10.wav", 54)]
    [InlineData("A3vox.wav", null)]
    [InlineData("grab4.wav", null)]
    [InlineData("A440.wav", null)]
    public void A_file_name_gives_its_one_note(string path, int? note) => Assert.Equal(note, NoteNames.FromFileName(path));
}
