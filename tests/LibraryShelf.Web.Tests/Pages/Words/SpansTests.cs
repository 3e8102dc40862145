using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class SpansTests
{
    [Theory]
    [InlineData(0, "less than a minute")]
    [InlineData(59, "less than a minute")]
    [InlineData(60, "about a minute")]
    [InlineData(61, "about 2 minutes")]
    [InlineData(50 * 60, "about 50 minutes")]
    [InlineData(51 * 60, "about an hour")]
    [InlineData(61 * 60, "about 1½ hours")]
    [InlineData(91 * 60, "about 2 hours")]
    [InlineData(27_200, "about 8 hours")]
    public void A_span_is_told_roughly_and_never_too_short(int seconds, string words) => Assert.Equal(words, Spans.About(TimeSpan.FromSeconds(seconds)));
}
