using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A page that follows long work, in Chromium, when the work ends: it opens itself anew, but not under what somebody typed.</summary>
public sealed class HowFarTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    private const string Far = """
        <div data-far="checking"><progress value="1" max="2"></progress><p data-far-words>1 of 2 recordings measured.</p></div>
        <p data-far-over hidden>This has ended. <a href="">Load this page again</a>.</p><p role="status" data-far-spoken></p>
        """;

    [Fact]
    public async Task What_was_typed_stays_and_the_page_says_that_the_work_has_ended()
    {
        var (page, end) = await OpenAsync();
        await page.GetByRole(AriaRole.Textbox).FillAsync("Struck softly.");
        end();
        await Assertions.Expect(page.Locator("[data-far-over]")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("[data-far]")).ToBeHiddenAsync();
        await Assertions.Expect(page.Locator("[data-far-spoken]")).ToHaveTextAsync("This has ended. Load this page again.");
        await Assertions.Expect(page.GetByRole(AriaRole.Textbox)).ToHaveValueAsync("Struck softly.");
        await page.GetByRole(AriaRole.Link).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading)).ToHaveTextAsync("Ended");
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task Where_nothing_was_typed_it_opens_itself_anew()
    {
        var (page, end) = await OpenAsync();
        end();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading)).ToHaveTextAsync("Ended");
        await page.Context.CloseAsync();
    }

    /// <summary>A page as _HowFar writes it, with the shelf's own script, and what ends its work.</summary>
    private async Task<(IPage Page, Action End)> OpenAsync()
    {
        var context = await claimed.Shelf.Browser.NewContextAsync();
        var page = await context.NewPageAsync();
        var isOver = false;
        await page.RouteAsync("**/how-far-here", route => route.FulfillAsync(new()
        {
            ContentType = "text/html; charset=utf-8",
            Body = $"""<!doctype html><html lang="en"><title>Far</title><h1>{(isOver ? "Ended" : "Runs")}</h1><div>{(isOver ? "" : Far)}</div><textarea></textarea><script src="/js/how-far.js" type="module"></script></html>""",
        }));
        await page.GotoAsync(new Uri(claimed.Shelf.Address, "/how-far-here").ToString());
        await Assertions.Expect(page.Locator("[data-far]")).ToBeVisibleAsync();
        return (page, () => isOver = true);
    }
}
