using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class MyLinksTests
{
    private static Task<IReadOnlyList<MyLink>> LinksAsync(StockedShelf shelf, long person) =>
        shelf.WithAsync(db => new ReadMyLinks(db, shelf.Uses, shelf.Temp.Clock).RunAsync(person, default));

    private static Task<bool> CloseAsync(StockedShelf shelf, long person, string? id) =>
        shelf.WithAsync(db => new CloseMyLink(db, shelf.Temp.Clock).RunAsync(person, id, default));

    [Fact]
    public async Task Links_are_told_until_when_they_work_and_are_gone_when_they_do_not()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var wren = await shelf.PersonAsync("wren@example.org");
        var (unused, started) = (await shelf.MadeAsync(wren), await shelf.MadeAsync(wren));
        await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(started.DownloadId));
        var links = (await LinksAsync(shelf, wren)).ToDictionary(l => l.DownloadId);
        Assert.Equal(2, links.Count);
        Assert.Equal((unused.StartBy, null), (links[unused.DownloadId].WorksUntil, links[unused.DownloadId].StartedAt));
        Assert.Equal((started.FinishBy, shelf.Now), (links[started.DownloadId].WorksUntil, links[started.DownloadId].StartedAt));
        Assert.Equal(("Mended Kettle", "1.0.0", null), (links[unused.DownloadId].Title, links[unused.DownloadId].Number, links[unused.DownloadId].FromNumber));
        shelf.Temp.Clock.SetUtcNow(unused.StartBy);
        Assert.Equal(started.DownloadId, Assert.Single(await LinksAsync(shelf, wren)).DownloadId);
        shelf.Temp.Clock.SetUtcNow(started.FinishBy);
        Assert.Empty(await LinksAsync(shelf, wren));
    }

    [Fact]
    public async Task A_link_that_is_used_up_or_of_a_withdrawn_version_is_not_among_them()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var wren = await shelf.PersonAsync("wren@example.org");
        var (used, other) = (await shelf.MadeAsync(wren), await shelf.MadeAsync(wren));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(used.Path)).Use.Add(shelf.Settings.Links.MostDownloads * shelf.Length);
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(used.Path));
        Assert.Equal(other.DownloadId, Assert.Single(await LinksAsync(shelf, wren)).DownloadId);
        await shelf.WithAsync(async db =>
        {
            Assert.True((await db.Releases.SingleAsync()).MoveTo(ReleaseState.Withdrawn, shelf.Now));
            return await db.SaveChangesAsync();
        });
        Assert.Empty(await LinksAsync(shelf, wren));
    }

    [Fact]
    public async Task Only_its_own_person_closes_a_link_and_it_opens_nothing_then()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (wren, robin) = (await shelf.PersonAsync("wren@example.org"), await shelf.PersonAsync("robin@example.org"));
        var (hers, visitors) = (await shelf.MadeAsync(wren), await shelf.MadeAsync());
        Assert.False(await CloseAsync(shelf, robin, hers.DownloadId));
        Assert.False(await CloseAsync(shelf, wren, visitors.DownloadId));
        Assert.False(await CloseAsync(shelf, wren, null));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(hers.Path));
        Assert.True(await CloseAsync(shelf, wren, hers.DownloadId));
        Assert.Equal(LinkTrouble.Revoked, await shelf.TroubleAsync(hers.Path));
        Assert.Empty(await LinksAsync(shelf, wren));
        Assert.False(await CloseAsync(shelf, wren, hers.DownloadId));
    }
}
