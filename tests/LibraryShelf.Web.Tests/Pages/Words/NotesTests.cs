using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class NotesTests
{
    // Middle C is MIDI note 60 and, in the usual counting, C4; the piano's ends are A0 (21) and C8 (108).
    [Theory]
    [InlineData(0, "C-1")]
    [InlineData(21, "A0")]
    [InlineData(28, "E1")]
    [InlineData(54, "F♯3")]
    [InlineData(60, "C4")]
    [InlineData(69, "A4")]
    [InlineData(84, "C6")]
    [InlineData(108, "C8")]
    [InlineData(127, "G9")]
    public void A_key_has_its_name(int midi, string name) => Assert.Equal(name, Notes.Name(midi));

    [Theory]
    [InlineData(-1)]
    [InlineData(128)]
    public void There_are_128_keys(int midi) => Assert.Throws<ArgumentOutOfRangeException>(() => Notes.Name(midi));

    [Fact]
    public void A_range_says_its_ends()
    {
        Assert.Equal("E1 to E3", Notes.Range(28, 52));
        Assert.Equal("C4", Notes.Range(60, 60));
        Assert.Equal("", Notes.Range(null, null));
    }
}
