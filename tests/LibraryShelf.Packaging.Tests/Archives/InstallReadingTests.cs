using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class InstallReadingTests
{
    private static string Written(params PlayerGuide[] players) => ArchiveTexts.Install(
        new FullArchiveInput { Title = "Jar", Number = "1.0.0", Files = [], Players = players }, "Jar", FullArchive.ChecksumsName);

    [Fact]
    public void What_sealing_wrote_is_read_again()
    {
        var text = Written(
            new PlayerGuide("Pondskater", "2.3", ""), new PlayerGuide("Rushlight, the small one", "5", "Drop it there.\n\nThen wait.\n\n- and wait"), new PlayerGuide("Reedpipe", "", "Any."));
        Assert.Equal([("Pondskater", "2.3"), ("Rushlight, the small one", "5")], InstallReading.PlayersOf(text, []));
        // A name without a version looks like a step, unless it is known.
        Assert.Equal([("Pondskater", "2.3"), ("Rushlight, the small one", "5"), ("Reedpipe", "")], InstallReading.PlayersOf(text, ["reedpipe"]));
        Assert.Equal([("Reedpipe", "")], InstallReading.PlayersOf(Written(new PlayerGuide("Reedpipe", "", "Any.")), []));
    }

    [Fact]
    public void Its_first_line_names_the_number()
    {
        Assert.Equal("1.0.0", InstallReading.NumberOf(Written()));
        Assert.Null(InstallReading.NumberOf("How to install it\n"));
        Assert.Null(InstallReading.NumberOf(""));
    }

    [Theory]
    [InlineData("")]
    [InlineData("Something else")]
    [InlineData("a\n\nb\n\n\n\n\n")]
    [InlineData("a\r\n\r\nb, version  or later\r\n\r\nc")]
    public void Another_text_names_none(string text) => Assert.Empty(InstallReading.PlayersOf(text, []));

    [Fact]
    public void A_version_that_names_no_player_says_none() => Assert.Empty(InstallReading.PlayersOf(Written(), ["Pondskater"]));
}
