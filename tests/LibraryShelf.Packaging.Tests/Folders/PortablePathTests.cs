using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Folders;

// Reserved names and characters: https://learn.microsoft.com/windows/win32/fileio/naming-a-file.
public sealed class PortablePathTests
{
    [Theory]
    [InlineData("a.wav")]
    [InlineData("Recordings/soft/A#3 (take 1).wav")]
    [InlineData("é/ñ/日本語.wav")]
    [InlineData(".hidden")]
    [InlineData("console.wav")]
    [InlineData("COM10.wav")]
    [InlineData("a..b.wav")]
    public void Ordinary_paths_pass(string path) => Assert.Null(PortablePath.Check(path));

    [Theory]
    [InlineData("", PathProblem.Empty)]
    [InlineData("/etc/passwd", PathProblem.Absolute)]
    [InlineData("C:/x.wav", PathProblem.Drive)]
    [InlineData("c:x.wav", PathProblem.Drive)]
    [InlineData("//server/share/x", PathProblem.NetworkPath)]
    [InlineData(@"\\server\share\x", PathProblem.NetworkPath)]
    [InlineData(@"a\b.wav", PathProblem.Backslash)]
    [InlineData("../x.wav", PathProblem.ClimbsOut)]
    [InlineData("a/../../x.wav", PathProblem.ClimbsOut)]
    [InlineData("a/./x.wav", PathProblem.ClimbsOut)]
    [InlineData("..", PathProblem.ClimbsOut)]
    [InlineData("a//b", PathProblem.EmptyPart)]
    [InlineData("a/", PathProblem.EmptyPart)]
    [InlineData("a\nb.wav", PathProblem.ControlCharacter)]
    [InlineData("a\u0000b.wav", PathProblem.ControlCharacter)]
    [InlineData("a\u0085b.wav", PathProblem.ControlCharacter)]
    [InlineData("a\u2028b.wav", PathProblem.ControlCharacter)]
    [InlineData("a\uFFFDb.wav", PathProblem.BrokenText)]
    public void Unsafe_paths_are_named_and_never_stored(string path, PathProblem expected)
    {
        Assert.Equal(expected, PortablePath.Check(path));
        Assert.True(PortablePath.IsUnsafe(expected));
    }

    [Fact]
    public void Half_a_surrogate_pair_is_broken_text()
    {
        Assert.Equal(PathProblem.BrokenText, PortablePath.Check("a" + (char)0xD83C + ".wav"));
        Assert.Null(PortablePath.Check("a\U0001F3B9.wav"));
    }

    [Theory]
    [InlineData("a<b.wav", PathProblem.ForbiddenCharacter)]
    [InlineData("take:1.wav", PathProblem.ForbiddenCharacter)]
    [InlineData("what?.wav", PathProblem.ForbiddenCharacter)]
    [InlineData("CON", PathProblem.ReservedName)]
    [InlineData("con.wav", PathProblem.ReservedName)]
    [InlineData("Nul.tar.gz", PathProblem.ReservedName)]
    [InlineData("x/COM1/y.wav", PathProblem.ReservedName)]
    [InlineData("LPT².wav", PathProblem.ReservedName)]
    [InlineData("aux .wav", PathProblem.ReservedName)]
    [InlineData("a. /b", PathProblem.TrailingDotOrSpace)]
    [InlineData("a.", PathProblem.TrailingDotOrSpace)]
    [InlineData("a/ b", PathProblem.TrailingDotOrSpace)]
    public void Unportable_names_are_named_and_may_wait_in_a_draft(string path, PathProblem expected)
    {
        Assert.Equal(expected, PortablePath.Check(path));
        Assert.False(PortablePath.IsUnsafe(expected));
    }

    [Fact]
    public void Lengths_are_limited_exactly()
    {
        Assert.Null(PortablePath.Check(new string('a', 120)));
        Assert.Equal(PathProblem.PartTooLong, PortablePath.Check(new string('a', 121)));
        Assert.Null(PortablePath.Check(new string('a', 100) + "/" + new string('b', 79)));
        Assert.Equal(PathProblem.TooLong, PortablePath.Check(new string('a', 100) + "/" + new string('b', 80)));
        // 86 letters of three bytes are 258 bytes, over NAME_MAX of 255.
        Assert.Equal(PathProblem.PartTooLong, PortablePath.Check(new string('日', 86)));
    }

    [Fact]
    public void Every_problem_has_words() =>
        Assert.All(Enum.GetValues<PathProblem>(), p => Assert.EndsWith(".", PortablePath.Words(p), StringComparison.Ordinal));

    [Theory]
    [InlineData("Soft/A3.wav", "soft/a3.WAV")]
    [InlineData("\u00E9.wav", "e\u0301.wav")]
    [InlineData("\u00C9.wav", "e\u0301.wav")]
    [InlineData("\u1E69.wav", "s\u0307\u0323.wav")] // Annex 15: marks in the other order
    [InlineData("\uAC00.wav", "\u1100\u1161.wav")] // Hangul, Unicode §3.12
    [InlineData("\u212B.wav", "\u00C5.wav")] // the ångström sign
    // CaseFolding.txt of Unicode, status F.
    [InlineData("Stra\u00DFe.wav", "STRASSE.wav")]
    [InlineData("\u1E9E.wav", "ss.wav")]
    [InlineData("\uFB03.wav", "FFI.wav")]
    [InlineData("\u0149.wav", "\u02BCN.wav")]
    [InlineData("\u0587.wav", "\u0565\u0582.wav")]
    [InlineData("\u1FB3.wav", "\u03B1\u03B9.wav")]
    [InlineData("\u0130.wav", "i\u0307.wav")]
    [InlineData("a\u200D.wav", "a.wav")] // a joiner where it joins nothing
    [InlineData("A", "a/b.wav")]
    public void Paths_that_are_one_on_some_system_collide(string one, string other) =>
        Assert.Equal(new[] { one, other }.Order(StringComparer.Ordinal), Assert.Single(PortablePath.Collisions([one, other, "else.wav"])));

    [Fact]
    public void Different_names_and_a_folder_shared_by_files_do_not_collide() =>
        Assert.Empty(PortablePath.Collisions(["a/b.wav", "a/c.wav", "s.wav", "ss.wav", "e.wav", "\u00E9.wav"]));

    [Theory]
    [InlineData('\u00AD', true)] // soft hyphen
    [InlineData('\u061C', true)] // Arabic letter mark
    [InlineData('\u200B', true)] // takes no room
    [InlineData('\u200F', true)]
    [InlineData('\u2060', true)]
    [InlineData('\uFEFF', true)]
    [InlineData('\u200C', false)] // Persian is spelled with it
    [InlineData('\u00E9', false)]
    public void What_no_reader_sees_is_told(char letter, bool expected) => Assert.Equal(expected, PortablePath.IsUnseen(letter));

    [Theory]
    [InlineData("e\u0301.wav", true)]
    [InlineData("\u00E9.wav", false)]
    [InlineData("\u1100\u1161", true)]
    [InlineData("plain.wav", false)]
    [InlineData("\u0915\u093C", false)] // a composition exclusion: already NFC
    public void Decomposed_names_are_seen(string text, bool expected) => Assert.Equal(expected, UnicodeForms.IsDecomposed(text));
}
