using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Tests.Downloads;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class MarkVisitTests
{
    private static Task<DateTimeOffset?> LookAsync(StockedShelf shelf, long person, bool counts = true) =>
        shelf.WithAsync(db => new MarkVisit(db, shelf.Temp.Clock).RunAsync(person, counts, default));

    private static void Wait(StockedShelf shelf, double minutes) => shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(minutes));

    [Fact]
    public async Task A_visit_goes_on_while_looks_are_no_more_than_half_an_hour_apart()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var wren = await shelf.PersonAsync("wren@example.org");
        Assert.Null(await LookAsync(shelf, wren)); // the first ever
        Wait(shelf, 30);
        Assert.Null(await LookAsync(shelf, wren));
        Wait(shelf, 30);
        Assert.Null(await LookAsync(shelf, wren));
        var last = shelf.Now;
        Wait(shelf, 30.1);
        Assert.Equal(last, await LookAsync(shelf, wren));
        Wait(shelf, 29);
        Assert.Equal(last, await LookAsync(shelf, wren));
        var next = shelf.Now;
        Wait(shelf, 24 * 60);
        Assert.Equal(next, await LookAsync(shelf, wren));
    }

    [Fact]
    public async Task A_page_fetched_ahead_begins_no_visit_and_shows_what_the_visit_will()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var wren = await shelf.PersonAsync("wren@example.org");
        await LookAsync(shelf, wren);
        var last = shelf.Now;
        Wait(shelf, 60);
        Assert.Equal(last, await LookAsync(shelf, wren, counts: false));
        Wait(shelf, 60);
        Assert.Equal(last, await LookAsync(shelf, wren, counts: false));
        Assert.Equal(last, await LookAsync(shelf, wren));
    }

    [Fact]
    public async Task Nobody_known_has_no_visits()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        Assert.Null(await LookAsync(shelf, 4711));
    }

    [Fact]
    public async Task New_is_what_came_out_since_and_was_not_taken()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var wren = await shelf.PersonAsync("wren@example.org");
        var mine = await shelf.WithAsync(db => new ReadMine(db, shelf.Temp.Clock).RunAsync(wren, default));
        var published = Assert.Single(Assert.Single(mine.Libraries).Releases).PublishedAt!.Value;
        Assert.Empty(mine.NewSince(null)); // the first visit: nothing is new, or all is
        Assert.Empty(mine.NewSince(published));
        Assert.Equal("1.0.0", Assert.Single(Assert.Single(mine.NewSince(published.AddMilliseconds(-1))).Releases).Number);
        Assert.Null(await shelf.StartAsync((await shelf.MadeAsync(wren)).DownloadId));
        mine = await shelf.WithAsync(db => new ReadMine(db, shelf.Temp.Clock).RunAsync(wren, default));
        Assert.Empty(mine.NewSince(published.AddMilliseconds(-1)));
    }
}
