using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class PluralTests
{
    [Theory]
    [InlineData(0, "recording", "0 recordings")]
    [InlineData(1, "recording", "1 recording")]
    [InlineData(480, "recording", "480 recordings")]
    [InlineData(2, "box", "2 boxes")]
    [InlineData(3, "library", "3 libraries")]
    [InlineData(2, "key", "2 keys")]
    [InlineData(2, "way of playing", "2 ways of playing")]
    [InlineData(1, "way of playing", "1 way of playing")]
    public void Counted_things_agree(long count, string one, string words) => Assert.Equal(words, Plural.Of(count, one));

    [Theory]
    [InlineData(0, "no", 0)]
    [InlineData(14, "fourteen", 14)]
    [InlineData(21, "21", 21)]
    public void A_number_alone_is_in_words_and_counts(int count, string words, long counted) => Assert.Equal((words, counted), (Plural.Number(count).Words, Plural.Number(count).Count));

    [Theory]
    [InlineData(0, "No boxes")]
    [InlineData(1, "One box")]
    [InlineData(14, "Fourteen boxes")]
    [InlineData(20, "Twenty boxes")]
    [InlineData(21, "21 boxes")]
    public void A_sentence_opens_in_words(int count, string words) => Assert.Equal(words, Plural.Opening(count, "box"));
}
