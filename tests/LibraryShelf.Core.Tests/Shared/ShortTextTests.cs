using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Tests.Shared;

public sealed class ShortTextTests
{
    /// <summary>U+1F39B is a pair in UTF-16 (D83C DF9B: The Unicode Standard, 3.9, D91).</summary>
    [Theory]
    [InlineData("knob", 4, "knob")]
    [InlineData("knobs", 4, "knob")]
    [InlineData("kno\U0001F39B", 4, "kno")]
    [InlineData("kno\U0001F39B", 5, "kno\U0001F39B")]
    [InlineData("kno\U0001F39B\U0001F39B", 6, "kno\U0001F39B")]
    [InlineData("\U0001F39B", 1, "")]
    public void A_pair_is_not_cut_through(string text, int most, string shortened) => Assert.Equal(shortened, ShortText.Of(text, most));
}
