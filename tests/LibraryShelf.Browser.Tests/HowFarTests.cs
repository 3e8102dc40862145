using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A page that follows long work, in Chromium, when the work ends: it opens itself anew, but not under what somebody typed.</summary>
[Collection(OneShelf.Name)]
public sealed class HowFarTests(ClaimedShelf claimed)
{
    private const string Ended = "The recording could not be read.";

    [Fact]
    public async Task What_was_typed_stays_and_the_page_says_that_the_work_has_ended()
    {
        var (page, endAsync) = await OpenAsync("typed");
        var credit = page.GetByLabel("Who made and played it");
        await credit.FillAsync("Struck softly.");
        await endAsync();
        await Assertions.Expect(page.Locator("[data-far-over]")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("[data-far]")).ToBeHiddenAsync();
        await Assertions.Expect(page.Locator("[data-far-spoken]")).ToHaveTextAsync("This has ended. Save what you typed, then load this page again to see how.");
        await Assertions.Expect(credit).ToHaveValueAsync("Struck softly.");
        await page.GetByRole(AriaRole.Link, new() { Name = "load this page again" }).ClickAsync();
        await Assertions.Expect(page.GetByText(Ended)).ToBeVisibleAsync();
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task Where_nothing_was_typed_it_opens_itself_anew()
    {
        var (page, endAsync) = await OpenAsync("untouched");
        await endAsync();
        await Assertions.Expect(page.GetByText(Ended)).ToBeVisibleAsync();
        await page.Context.CloseAsync();
    }

    /// <summary>A library's page of music while that is made, as the shelf writes it, and what ends the work.</summary>
    private async Task<(IPage Page, Func<Task> EndAsync)> OpenAsync(string slug)
    {
        var library = new Library { Title = "Kettles", Slug = slug, Sound = "struck" };
        await ShelfRows.AddAsync(claimed.Shelf, async (db, now) =>
        {
            library.CreatedAt = now;
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            db.LibraryMusic.Add(new() { LibraryId = library.Id, Title = "Kettles at dusk", SourceSha256 = new('0', 64), AddedAt = now });
            await db.SaveChangesAsync();
        });
        var page = await claimed.MakerPageAsync();
        var address = new Uri(claimed.Shelf.Address, $"/workbench/libraries/{slug}/music").ToString();
        // Nothing makes it. So that whatever looks at the row meanwhile ends nothing before its time, what the shelf says now is said until then.
        var (running, isOver) = (await page.APIRequest.GetAsync(address), false);
        await page.RouteAsync(address, route => isOver ? route.ContinueAsync() : route.FulfillAsync(new() { Response = running }));
        await page.GotoAsync(address);
        await Assertions.Expect(page.Locator("[data-far=music]")).ToContainTextAsync("“Kettles at dusk” is being made ready to be heard.");
        return (page, async () =>
        {
            await ShelfRows.AddAsync(claimed.Shelf, (db, _) => db.LibraryMusic.Where(m => m.LibraryId == library.Id).ExecuteUpdateAsync(m => m.SetProperty(x => x.Trouble, Ended)));
            isOver = true;
        });
    }
}
