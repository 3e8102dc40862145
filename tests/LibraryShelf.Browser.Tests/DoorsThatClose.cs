using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>Looks at the pages that open by a link which works once or for a while, as who holds the link sees them: open, refused, used, waiting, closed.</summary>
internal sealed partial class DoorsThatClose(RunningShelf shelf, Sight sight)
{
    private const string TooShort = "reeds";

    /// <summary>The first visit to the shelf; then the maker loses her way in, and gets in again.</summary>
    /// <returns>A page on which the maker is signed in.</returns>
    public async Task<IPage> ClaimAndRecoverAsync()
    {
        var context = await shelf.NewContextAsync();
        await Sight.ComeWithAsync(context);
        var page = await context.NewPageAsync();
        var claim = await Walk.ClaimLinkOfAsync(shelf);
        await page.GotoAsync(claim);
        await sight.IsWellAtBothAsync(page, "claim");
        await Walk.ClaimAsync(page, TooShort);
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("Nothing is saved yet");
        await sight.IsWellAtBothAsync(page, "claim-refused");
        await Walk.ClaimAsync(page, shelf);
        await page.GotoAsync(claim);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("This shelf is claimed");
        await sight.IsWellAtBothAsync(page, "claim-used");

        var recover = new Uri(shelf.Address, RecoverLink().Match(await shelf.AdminAsync("recover", Walk.MakerEmail)).Value).ToString();
        await page.GotoAsync(recover);
        await sight.IsWellAtBothAsync(page, "recover");
        await ChoosePasswordAsync(page, TooShort);
        await Assertions.Expect(page.GetByRole(AriaRole.Alert)).ToContainTextAsync("the link still works");
        await sight.IsWellAtBothAsync(page, "recover-refused");
        await ChoosePasswordAsync(page, Walk.MakerPassword);
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(shelf.Address, "/workbench").ToString());
        await page.GotoAsync(recover);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("This link was used");
        await sight.IsWellAtBothAsync(page, "recover-used");
        await page.SetViewportSizeAsync(Sight.Desk, 900);
        return page;
    }

    /// <summary>A visitor's turn comes, the download runs, another waits for it, and the maker closes that one's link.</summary>
    /// <param name="maker">Signed in.</param>
    /// <param name="box">The address of a free box, larger than what waits for nobody.</param>
    public async Task DownloadAsync(IPage maker, string box)
    {
        await using var context = await shelf.NewContextAsync(new() { UserAgent = Walk.PersonsBrowser });
        await Sight.ComeWithAsync(context);
        var page = await context.NewPageAsync();
        var (first, second) = (await LinkAsync(page, box), await LinkAsync(page, box));
        var waits = first.Replace("/get/", "/wait/", StringComparison.Ordinal);

        // The page leads to the bytes by itself: held back, so that it can be looked at.
        await page.RouteAsync(url => url.Contains("/get/", StringComparison.Ordinal), route => route.AbortAsync("aborted"));
        await LookAsync(page, waits, "It is your turn", "wait-turn");
        await page.UnrouteAllAsync();
        var download = await page.RunAndWaitForDownloadAsync(() => page.EvaluateAsync("link => { location = link; }", first));
        await LookAsync(page, waits, "Your download has begun", "wait-begun");
        await LookAsync(page, second, "Your download waits its turn", "wait");

        // A page that waits looks by itself whether there is something new to say.
        await page.Clock.InstallAsync();
        await page.GotoAsync(second);
        await Assertions.Expect(page.Locator("[data-far-words]")).ToContainTextAsync("You are number 1 in the queue");
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/downloads").ToString());
        // The newest stands first.
        await maker.GetByRole(AriaRole.Button, new() { Name = "Close this link" }).First.ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Status)).ToBeVisibleAsync();
        await page.Clock.FastForwardAsync(15_000);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Link was closed");
        await sight.IsWellAtBothAsync(page, "link-closed");
        await download.CancelAsync();
    }

    /// <summary>At each width anew.</summary>
    private async Task LookAsync(IPage page, string address, string heading, string name)
    {
        foreach (var width in new[] { Sight.Desk, Sight.Phone })
        {
            await page.SetViewportSizeAsync(width, 900);
            await page.GotoAsync(address);
            await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync(heading);
            await sight.IsWellAsync(page, name);
        }
    }

    /// <summary>What the button's press answers with, not followed.</summary>
    private static async Task<string> LinkAsync(IPage page, string box)
    {
        await page.GotoAsync(box);
        var release = await page.Locator("input[name=release]").First.GetAttributeAsync("value");
        var form = page.APIRequest.CreateFormData();
        form.Set("release", release!);
        var answer = await page.APIRequest.PostAsync(box, new() { Form = form, MaxRedirects = 0, Headers = new Dictionary<string, string> { ["Sec-Fetch-Site"] = "same-origin" } });
        return new Uri(new Uri(box), answer.Headers["location"]).ToString();
    }

    private static async Task ChoosePasswordAsync(IPage page, string password)
    {
        await page.GetByLabel("New password").FillAsync(password);
        await page.GetByRole(AriaRole.Button, new() { Name = "Save it and sign in" }).ClickAsync();
    }

    [GeneratedRegex("/workbench/recover/[A-Za-z0-9_-]+", RegexOptions.None, 1000)]
    private static partial Regex RecoverLink();
}
