using LibraryShelf.Texts;

namespace LibraryShelf.Packaging.Tests.Texts;

/// <summary>How holes are filled.</summary>
public sealed class WordingTests
{
    [Theory]
    [InlineData("{0} and {1}", "a and b")]
    [InlineData("{1}, {0}, {1}", "b, a, b")]
    [InlineData("{{0}} is {0}", "{0} is a")]
    [InlineData("{{{0}}}", "{a}")]
    [InlineData("{2} is not there", " is not there")]
    [InlineData("{x} and {} and { 0 } stand as they are", "{x} and {} and { 0 } stand as they are")]
    [InlineData("{-1} too", "{-1} too")]
    [InlineData("an open {0", "an open {0")]
    [InlineData("a closed } alone", "a closed } alone")]
    [InlineData("{99999999999}", "{99999999999}")]
    [InlineData("", "")]
    public void Holes_are_filled_by_their_number(string sentence, string expected) => Assert.Equal(expected, Wording.Fill(sentence, ["a", "b"]));

    [Fact]
    public void What_fills_a_hole_is_never_read_for_holes() => Assert.Equal("{1} b", Wording.Fill("{0} {1}", ["{1}", "b"]));
}
