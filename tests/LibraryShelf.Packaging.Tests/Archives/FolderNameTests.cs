using System.Text;
using CsCheck;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class FolderNameTests
{
    // Reserved characters and device names: Microsoft, "Naming Files, Paths, and Namespaces" (learn.microsoft.com).
    [Theory]
    [InlineData("Mended Kettle", "Mended Kettle")]
    [InlineData("Glöckchen 鈴 🔔", "Glöckchen 鈴 🔔")]
    [InlineData("Kettle: the \"lid\"", "Kettle- the -lid-")]
    [InlineData("AC/DC\\hum", "AC-DC-hum")]
    [InlineData("What? *Now* <|>", "What- -Now- ---")]
    [InlineData("  two \t\r\n  spaces  ", "two spaces")]
    [InlineData("trailing. . .", "trailing")]
    [InlineData(".hidden", "hidden")]
    [InlineData("-rf", "rf")]
    [InlineData("..", "Library")]
    [InlineData("", "Library")]
    [InlineData("\u0000\u0007\u202E", "Library")]
    [InlineData("evil\u202Egpj", "evilgpj")]
    [InlineData("CON", "CON_")]
    [InlineData("con.bells", "con_.bells")]
    [InlineData("LPT¹", "LPT¹_")]
    [InlineData("Lpt9 .x", "Lpt9_ .x")]
    [InlineData("Console", "Console")]
    public void A_title_becomes_a_folder(string title, string folder) => Assert.Equal(folder, FolderName.FromTitle(title));

    [Fact]
    public void A_long_title_is_cut_between_characters()
    {
        // The bell is one character of four bytes; the family is one of 25 bytes, joined from five code points.
        Assert.Equal(string.Concat(Enumerable.Repeat("🔔", 30)), FolderName.FromTitle(string.Concat(Enumerable.Repeat("🔔", 40))));
        Assert.Equal(120, Encoding.UTF8.GetByteCount(FolderName.FromTitle(new string('a', 500))));
    }

    [Fact]
    public void A_long_title_that_begins_with_a_device_name_still_fits()
    {
        var folder = FolderName.FromTitle("con." + new string('k', 200));
        Assert.Equal("con_." + new string('k', FolderName.MostBytes - 5), folder);
        Assert.Equal(folder, FolderName.FromTitle(folder));
    }

    [Fact]
    public void Whatever_the_title_the_folder_is_portable_and_stable() =>
        Gen.String[Gen.OneOf(Gen.Char, Gen.Char["CONcon.:- /\\\0\ud83d\udd14"]), 0, 200].Sample(title =>
        {
            var folder = FolderName.FromTitle(title);
            Assert.Null(PortablePath.Check(folder));
            Assert.DoesNotContain('/', folder);
            Assert.Equal(folder, FolderName.FromTitle(folder));
        }, iter: 3000, threads: 1);
}
