using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Tests.Catalog;

public sealed class OpensInTests
{
    [Theory]
    [InlineData("2.3", "2.3", true)]
    [InlineData("2.10", "2.9", true)] // parts are numbers, not letters
    [InlineData("2.9", "2.10", false)]
    [InlineData("2", "2.0.0", true)]
    [InlineData("2", "2.0.1", false)]
    [InlineData("5.0.1", "5", true)]
    [InlineData("1.8", "5", false)]
    [InlineData("002.03", "2.3", true)]
    [InlineData("99999999999999999999999.1", "99999999999999999999999", true)]
    [InlineData("1", "", true)] // none named: any will do
    [InlineData("1", "beta", true)]
    public void Dotted_versions_are_compared_part_by_part(string has, string lowest, bool isEnough) =>
        Assert.Equal(isEnough, OpensIn.IsEnough(has, lowest));

    [Theory]
    [InlineData("2.3", true)]
    [InlineData(" 5 ", true)]
    [InlineData("", false)]
    [InlineData(null, false)]
    [InlineData("2.", false)]
    [InlineData("v2", false)]
    [InlineData("-1", false)]
    [InlineData("٢.٣", false)] // digits, but not those a player's window shows
    [InlineData("1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1.1", false)]
    public void A_version_is_whole_numbers_with_dots(string? text, bool isVersion) => Assert.Equal(isVersion, OpensIn.IsVersion(text));
}
