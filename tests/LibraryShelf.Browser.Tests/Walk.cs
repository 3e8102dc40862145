using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>What people do at the shelf, press by press, through what the pages show them.</summary>
internal static partial class Walk
{
    public const string MakerEmail = "wren@saltmarsh.example";
    public const string MakerPassword = "seven reeds and a kettle";

    /// <summary>The first visit of the maker: the link that the start printed, her shop's name, her password.</summary>
    public static async Task ClaimAsync(IPage page, RunningShelf shelf)
    {
        await page.GotoAsync(ClaimLink().Match(shelf.Output).Value.Replace("127.0.0.1", "localhost", StringComparison.Ordinal));
        await page.GetByLabel("Your e-mail address").FillAsync(MakerEmail);
        await page.GetByLabel("Password", new() { Exact = true }).FillAsync(MakerPassword);
        await page.GetByLabel("Name of the shop").FillAsync("Saltmarsh Sound Room");
        await page.GetByLabel("How people reach you").FillAsync(MakerEmail);
        await page.GetByRole(AriaRole.Button, new() { Name = "Claim the shelf" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Libraries");
    }

    public static async Task SignInAsMakerAsync(IPage page, RunningShelf shelf)
    {
        await page.GotoAsync(new Uri(shelf.Address, "/workbench/sign-in").ToString());
        await page.GetByLabel("Your e-mail address").FillAsync(MakerEmail);
        await page.GetByLabel("Password", new() { Exact = true }).FillAsync(MakerPassword);
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in", Exact = true }).ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Regex("/workbench$", RegexOptions.None, TimeSpan.FromSeconds(1)));
    }

    /// <summary>Adds a library, gives it <paramref name="folder"/> (chosen unless <paramref name="give"/> says otherwise), lets it be checked, writes the words, seals and publishes 1.0.0.</summary>
    public static async Task PublishAsync(
        IPage page, RunningShelf shelf, string title, string folder, string audience, Func<IPage, string, Task>? give = null)
    {
        await PrepareAsync(page, shelf, title, folder, give);
        await page.GetByRole(AriaRole.Link, new() { Name = "Seal" }).ClickAsync();
        await page.GetByLabel(audience).CheckAsync();
        await page.GetByLabel("The recordings of this library are mine to give").CheckAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Seal and publish 1.0.0" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Main)).ToContainTextAsync("Published");
    }

    /// <summary>The same as far as the words of 1.0.0.</summary>
    public static async Task PrepareAsync(IPage page, RunningShelf shelf, string title, string folder, Func<IPage, string, Task>? give = null)
    {
        await page.GotoAsync(new Uri(shelf.Address, "/workbench/libraries/new").ToString());
        await page.GetByLabel("Title").FillAsync(title);
        await page.GetByLabel("How it sounds").FillAsync("struck");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add the library" }).ClickAsync();
        await page.GetByLabel("Number of the next release").FillAsync("1.0.0");
        await page.GetByRole(AriaRole.Button, new() { Name = "Start the release" }).ClickAsync();

        await (give ?? ChooseAsync)(page, folder);
        await Assertions.Expect(page).ToHaveURLAsync(new Regex("/sheet$", RegexOptions.None, TimeSpan.FromSeconds(1)), new() { Timeout = 20_000 });
        await Assertions.Expect(page.Locator(".tally")).ToContainTextAsync("0 must fix");
        await page.GetByRole(AriaRole.Link, new() { Name = "Go on to the words" }).ClickAsync();

        await page.GetByLabel("What changed").FillAsync("First kettles, **five** of them.");
        await page.GetByLabel("Player 1", new() { Exact = true }).FillAsync("Pondskater");
        await page.GetByLabel("Lowest version of player 1").FillAsync("2.3");
        await page.GetByLabel("A well-known licence, by its SPDX id").CheckAsync();
        await page.GetByLabel("SPDX id", new() { Exact = true }).FillAsync("CC-BY-4.0");
        await page.GetByRole(AriaRole.Button, new() { Name = "Save the words" }).ClickAsync();
    }

    /// <summary>Presses "Choose a folder" and chooses it.</summary>
    public static async Task ChooseAsync(IPage page, string folder)
    {
        var chooser = await page.RunAndWaitForFileChooserAsync(() => page.GetByRole(AriaRole.Button, new() { Name = "Choose a folder" }).ClickAsync());
        await chooser.SetFilesAsync(folder);
    }

    /// <summary>Drags the folder from the desktop onto the page, by the browser's own input events (Chrome DevTools Protocol).</summary>
    public static async Task DropAsync(IPage page, string folder)
    {
        var target = page.Locator("[data-part=drop]");
        await Assertions.Expect(target).ToBeVisibleAsync();
        var place = (await target.BoundingBoxAsync())!;
        var browser = await page.Context.NewCDPSessionAsync(page);
        foreach (var type in new[] { "dragEnter", "dragOver", "drop" })
        {
            await browser.SendAsync("Input.dispatchDragEvent", new()
            {
                ["type"] = type, ["x"] = place.X + 20, ["y"] = place.Y + 20,
                ["data"] = new { items = Array.Empty<object>(), files = new[] { folder }, dragOperationsMask = 1 },
            });
        }
    }

    /// <summary>Asks for a sign-in mail, reads it in the outbox folder, opens its link and presses the button.</summary>
    public static async Task SignInByMailAsync(IPage page, RunningShelf shelf, string email)
    {
        await page.GotoAsync(new Uri(shelf.Address, "/sign-in").ToString());
        await page.GetByLabel("Your e-mail address").FillAsync(email);
        await page.GetByRole(AriaRole.Button, new() { Name = "Send me the mail" }).ClickAsync();
        await page.GotoAsync(await Outbox.SignInLinkAsync(shelf, email));
        await page.GetByRole(AriaRole.Button, new() { Name = "Sign in" }).ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Regex("/mine$", RegexOptions.None, TimeSpan.FromSeconds(1)));
    }

    [GeneratedRegex("http://[^ ]+/workbench/claim/[A-Za-z0-9_-]+", RegexOptions.None, 1000)]
    private static partial Regex ClaimLink();
}
