using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class PaceTests
{
    /// <summary>So that nobody else waits for the writer longer than about four tenths of a second; the house's own, no source.</summary>
    [Theory]
    [InlineData(50, 2_000, 25)]
    [InlineData(7, 401, 5)]
    [InlineData(5, 9_000, 5)]
    [InlineData(12, 400, 12)]
    [InlineData(12, 200, 12)]
    [InlineData(12, 199, 24)]
    [InlineData(500, 1, 800)]
    public void Who_held_the_writer_for_long_takes_fewer_next(int size, int heldMs, int next) => Assert.Equal(next, new Pace(5, 800).After(size, TimeSpan.FromMilliseconds(heldMs)));

    [Fact]
    public void Events_and_people_have_bounds_of_their_own()
    {
        var (fast, slow) = (TimeSpan.Zero, TimeSpan.FromSeconds(9));
        Assert.Equal((250, 8_000), (CountDownloads.Pages.After(300, slow), CountDownloads.Pages.After(7_000, fast)));
        Assert.Equal((5, 800), (RollUpVersions.Pieces.After(6, slow), RollUpVersions.Pieces.After(700, fast)));
    }
}
