using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shelf.Boards;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Shelf.Boards;

public sealed class BoardTests
{
    private const int Room = 1184 - 54; // px beside the names of the ticks

    [Fact]
    public void Up_to_sixteen_boxes_share_one_board_whatever_their_years()
    {
        var board = Assert.Single(Board.Of([.. Boxes(16, daysApart: 90)], DateTimeZone.Utc, isMoreComing: false));
        Assert.Null(board.Heading);
        Assert.Equal(16, board.Boxes.Count);
    }

    [Fact]
    public void With_more_each_year_has_its_board_and_a_full_year_more_than_one()
    {
        // 20 boxes in 2026, 4 in 2025.
        var boxes = Boxes(20, daysApart: 15).Concat(Boxes(4, daysApart: 60, from: new(2025, 12, 20, 0, 0, 0, TimeSpan.Zero))).ToList();
        var boards = Board.Of(boxes, DateTimeZone.Utc, isMoreComing: false);
        Assert.Equal([("August to December 2026", 10), ("March to August 2026", 10), ("2025", 4)], boards.Select(b => (b.Heading!, b.Boxes.Count)));
        Assert.Equal(boxes, boards.SelectMany(b => b.Boxes).Select(b => b.Box));
    }

    [Theory]
    [InlineData(14, false, 400)]
    [InlineData(14, true, 400)]
    [InlineData(16, true, 5000)]
    [InlineData(3, false, 100)]
    public void Spines_fill_the_board_and_never_more(int count, bool isMoreComing, int recordings)
    {
        var board = Assert.Single(Board.Of([.. Boxes(count, 10, recordings: recordings)], DateTimeZone.Utc, isMoreComing));
        var taken = board.Boxes.Sum(b => b.Width + 3) + (isMoreComing ? 60 : 0);
        Assert.InRange(taken, 0, Room);
        // Full, or each as wide as a box may be.
        Assert.True(taken > Room - 2 * count || board.Boxes.All(b => SpineDrawing.WidthOf(b.Box.Latest.Row.Recordings) - b.Width is 0 or 1), $"{taken} px");
    }

    [Fact]
    public void A_title_is_as_long_as_its_room_where_it_can_be()
    {
        foreach (var title in new[] { "Sluice Gate Bass", "Bicycle Spoke Harp", "Ironing Board Dulcimer", "Flowerpot Bells" })
        {
            var (size, width) = SpineTitle.Fit(title, room: 190, largest: 30);
            Assert.InRange(NameWidths.Of(title, width) * size, 180, 190);
            Assert.InRange(width, 62, 150);
        }
    }

    [Fact]
    public void The_size_gives_way_before_letters_are_hard_to_read_and_no_further_than_may_be_read()
    {
        var (size, width) = SpineTitle.Fit("The Whole Brass Band of the Lower Saltmarsh", room: 250, largest: 40);
        Assert.Equal(SpineTitle.Smallest, size);
        Assert.InRange(width, 50, 62);
        Assert.Equal(new SpineTitle(40, 150), SpineTitle.Fit("Jug", room: 400, largest: 44));
        // Letters that the face lacks are taken for wide ones.
        Assert.True(NameWidths.Of("Ж", 100) > NameWidths.Of("i", 100));
    }

    private static IEnumerable<ShelfBox> Boxes(int count, int daysApart, DateTimeOffset? from = null, int recordings = 300)
    {
        var newest = from ?? new DateTimeOffset(2026, 12, 31, 0, 0, 0, TimeSpan.Zero);
        for (var i = 0; i < count; i++)
        {
            var row = new Release { Number = "1.0.0", PublishedAt = newest.AddDays(-i * daysApart), Keys = 25, Recordings = recordings };
            yield return new ShelfBox($"box-{i}", $"Box {i}", "", "struck", Paint.Tar, IsPitched: true, Audience.Free, new ShelfRelease(row, 1));
        }
    }
}
