using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>The same form open twice: the later save is told, and keeps what was typed.</summary>
public sealed class TwoTabsTests
{
    [Fact]
    public async Task A_releases_words_saved_in_one_tab_are_not_overwritten_unseen_by_another()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        var address = $"/workbench/releases/{id}/words";
        var (first, second) = (await maker.PageAsync(address), await maker.PageAsync(address));
        await maker.PressAndFollowAsync(first, "Save the words", ("Notes", "From the first."));
        // Sending and checking the folder moves the release on; that is no other save.
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.Revision, r => r.Revision + 1)));

        var told = await maker.PressAndStayAsync(second, "Save the words", ("Notes", "From the second."), ("Credits", "Wren."));
        Assert.Contains("saved elsewhere since you opened them", told.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.Equal("From the second.", told.GetElementById("notes")!.TextContent);
        Assert.Equal("From the first.", await NotesAsync(host));
        await maker.PressAndFollowAsync(told, "Save the words");
        Assert.Equal("From the second.", await NotesAsync(host));
    }

    [Fact]
    public async Task A_librarys_words_likewise_and_a_decision_in_between_is_no_other_save()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.ReleaseAsync();
        const string Address = "/workbench/libraries/kettle";
        var (first, second) = (await maker.PageAsync(Address), await maker.PageAsync(Address));
        await maker.PressAndFollowAsync(first, "Decide", ("audience", "Members"));
        await maker.PressAndFollowAsync(first, "Save the words", ("Title", "First Kettle"));
        var told = await maker.PressAndStayAsync(second, "Save the words", ("Title", "Second Kettle"));
        Assert.Equal("Second Kettle", told.GetElementById("title")!.GetAttribute("value"));
        Assert.Equal("First Kettle", await TitleAsync(host));
        await maker.PressAndFollowAsync(told, "Save the words");
        Assert.Equal("Second Kettle", await TitleAsync(host));
    }

    [Fact]
    public async Task An_archive_that_can_not_be_read_through_is_not_published_and_can_be_read_again()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.CheckedAsync(id);
        await host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync();
            Assert.True(release.MoveTo(ReleaseState.Sealed, DateTimeOffset.UnixEpoch));
            db.Archives.Add(new Archive { ReleaseId = id, FileName = "Kettle 1.0.0.zip", Trouble = "Kettle 1.0.0.zip can't be read through." });
            await db.SaveChangesAsync();
        });
        var address = $"/workbench/releases/{id}/seal";
        var page = await maker.PressAndStayAsync(await maker.PageAsync(address), "Publish 1.0.0");
        Assert.Contains("It was not published; nothing was changed. Its archive can’t be read through", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(await maker.PageAsync(address), "Read it through again");
        Assert.Contains("Its archive will be read through for its checksum.", page.Body!.Words(), StringComparison.Ordinal);
    }

    private static Task<string> NotesAsync(ShelfHost host) => host.AskDbAsync<string>(db => db.Releases.Select(r => r.Notes).SingleAsync());

    private static Task<string> TitleAsync(ShelfHost host) => host.AskDbAsync<string>(db => db.Libraries.Select(l => l.Title).SingleAsync());
}
