using LibraryShelf.Packaging.Listening;
using LibraryShelf.Web.Pages.Shelf;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class ListenWordsTests
{
    private static Excerpt Of(string way, int ofWays) => new("C4", way, false, 2, -20, -6, ofWays);

    [Fact]
    public void What_did_not_fit_is_counted_by_ways_of_playing_not_by_excerpts()
    {
        Assert.Equal("2 of its 24 ways of playing can be heard here.", ListenWords.WaysLeftOut([Of("struck", 24), Of("rolled", 24), Of("struck", 24)]));
        Assert.Null(ListenWords.WaysLeftOut([Of("struck", 2), Of("rolled", 2), Of("rolled", 2)]));
        Assert.Null(ListenWords.WaysLeftOut([]));
    }
}
