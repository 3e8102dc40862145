using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class OsDroppingsTests
{
    [Theory]
    [InlineData(".DS_Store")]
    [InlineData("Samples/.DS_Store")]
    [InlineData("Samples/THUMBS.DB")]
    [InlineData("Samples/desktop.ini")]
    [InlineData("Samples/._C4.wav")]
    [InlineData("__MACOSX/Kettle/._C4.wav")]
    [InlineData("__MACOSX/")]
    [InlineData("System Volume Information/x")]
    public void Left_by_a_system(string path) => Assert.True(OsDroppings.Contains(path));

    [Theory]
    [InlineData("C4.wav")]
    [InlineData(".gitignore")]
    [InlineData("Thumbs.db.wav")]
    [InlineData("my.DS_Store")]
    [InlineData("_C4.wav")]
    [InlineData("desktop.ini/C4.wav")]
    public void Part_of_the_library(string path) => Assert.False(OsDroppings.Contains(path));
}
