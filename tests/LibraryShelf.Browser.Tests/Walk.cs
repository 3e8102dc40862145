using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>What people do at the shelf, press by press, through what the pages show them.</summary>
internal static partial class Walk
{
    public const string MakerEmail = "wren@saltmarsh.example";
    public const string MakerPassword = "seven reeds and a kettle";

    /// <summary>As a person's browser calls itself: one without a window is taken for a robot's, and its downloads are no person's.</summary>
    public const string PersonsBrowser = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/124.0.0.0 Safari/537.36";

    /// <summary>The first visit of the maker: the link that the start printed, her shop's name, her password.</summary>
    public static async Task ClaimAsync(IPage page, RunningShelf shelf)
    {
        await page.GotoAsync(await ClaimLinkOfAsync(shelf));
        await ClaimAsync(page, MakerPassword);
        await Assertions.Expect(page.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Workbench");
    }

    /// <summary>Fills the page that claims, and sends it.</summary>
    public static async Task ClaimAsync(IPage page, string password)
    {
        await page.GetByLabel("Your e-mail address").FillAsync(MakerEmail);
        await page.GetByLabel("Password", new() { Exact = true }).FillAsync(password);
        await page.GetByLabel("Name of the shop").FillAsync("Saltmarsh Sound Room");
        await page.GetByLabel("How people reach you").FillAsync(MakerEmail);
        await page.GetByRole(AriaRole.Button, new() { Name = "Claim the shelf" }).ClickAsync();
    }

    /// <summary>The link that the start of the program prints, which may be read a moment after it answers.</summary>
    public static async Task<string> ClaimLinkOfAsync(RunningShelf shelf)
    {
        await Waiting.UntilAsync(() => Task.FromResult(ClaimLink().IsMatch(shelf.Output)));
        return ClaimLink().Match(shelf.Output).Value.Replace("127.0.0.1", "localhost", StringComparison.Ordinal);
    }

    public static Task SignInAsMakerAsync(IPage page, RunningShelf shelf) => SignInAsMakerAsync(new PointerHands(page), shelf);

    public static async Task SignInAsMakerAsync(Hands maker, RunningShelf shelf)
    {
        await maker.Page.GotoAsync(new Uri(shelf.Address, "/workbench/sign-in").ToString());
        await maker.FillAsync("Your e-mail address", MakerEmail);
        await maker.FillAsync("Password", MakerPassword, exact: true);
        await maker.PressAsync(AriaRole.Button, "Sign in", exact: true);
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/workbench$", RegexOptions.None, TimeSpan.FromSeconds(1)));
    }

    /// <summary>Adds a library, gives it <paramref name="folder"/> (chosen unless <paramref name="give"/> says otherwise), lets it be checked, writes the words, seals and publishes 1.0.0.</summary>
    public static Task PublishAsync(IPage page, RunningShelf shelf, string title, string folder, string audience, Func<Hands, string, Task>? give = null) =>
        PublishAsync(new PointerHands(page), shelf, title, folder, audience, give);

    /// <inheritdoc cref="PublishAsync(IPage, RunningShelf, string, string, string, Func{Hands, string, Task}?)"/>
    public static async Task PublishAsync(
        Hands maker, RunningShelf shelf, string title, string folder, string audience, Func<Hands, string, Task>? give = null)
    {
        await PrepareAsync(maker, shelf, title, folder, give);
        await maker.PressAsync(AriaRole.Link, "Seal");
        await maker.CheckAsync(audience);
        await maker.CheckAsync("The recordings of this library are mine to give");
        await SealAndPublishAsync(maker, "1.0.0");
    }

    /// <summary>Starts 1.0.1 of a library that has 1.0.0, gives it <paramref name="folder"/>, lets it be checked and compared, says what changed, seals and publishes it.</summary>
    public static async Task PublishMendAsync(Hands maker, RunningShelf shelf, string slug, string folder, Func<Hands, string, Task> give)
    {
        await maker.Page.GotoAsync(new Uri(shelf.Address, "/workbench/libraries/" + slug).ToString());
        await maker.FillAsync("Number of the next version", "1.0.1");
        await maker.PressAsync(AriaRole.Button, "Start the version");
        await GiveAsync(maker, folder, give);
        await maker.FillAsync("What changed", "The middle kettle was recorded anew.");
        await maker.PressAsync(AriaRole.Button, "Save the words");
        await maker.PressAsync(AriaRole.Link, "Seal");
        await SealAndPublishAsync(maker, "1.0.1");
    }

    private static async Task SealAndPublishAsync(Hands maker, string number)
    {
        var button = $"Seal and publish {number}";
        await maker.PressAsync(AriaRole.Button, button);
        // What was pressed has to arrive before the page is loaded anew.
        await Assertions.Expect(maker.Page.GetByRole(AriaRole.Button, new() { Name = button })).ToHaveCountAsync(0);
        await maker.SeesAsync("Published");
    }

    private static async Task GiveAsync(Hands maker, string folder, Func<Hands, string, Task> give)
    {
        await give(maker, folder);
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/sheet$", RegexOptions.None, TimeSpan.FromSeconds(1)), new() { Timeout = 20_000 });
        await Assertions.Expect(maker.Page.Locator(".tally")).ToContainTextAsync("0 must fix");
        await maker.PressAsync(AriaRole.Link, "Go on to the words");
    }

    /// <summary>The same as far as the words of 1.0.0.</summary>
    public static Task PrepareAsync(IPage page, RunningShelf shelf, string title, string folder) => PrepareAsync(new PointerHands(page), shelf, title, folder, null);

    private static async Task PrepareAsync(Hands maker, RunningShelf shelf, string title, string folder, Func<Hands, string, Task>? give)
    {
        var page = maker.Page;
        await page.GotoAsync(new Uri(shelf.Address, "/workbench/libraries/new").ToString());
        await maker.FillAsync("Title", title);
        await maker.FillAsync("How it sounds", "struck");
        await maker.PressAsync(AriaRole.Button, "Add the library");
        await maker.FillAsync("Number of the next version", "1.0.0");
        await maker.PressAsync(AriaRole.Button, "Start the version");

        await GiveAsync(maker, folder, give ?? ChooseAsync);
        await maker.FillAsync("What changed", "First kettles, **five** of them.");
        await maker.FillAsync("Player 1", "Pondskater", exact: true);
        await maker.FillAsync("Lowest version of player 1", "2.3");
        await maker.CheckAsync("A well-known licence, by its SPDX id");
        await maker.FillAsync("SPDX id", "CC-BY-4.0", exact: true);
        await maker.PressAsync(AriaRole.Button, "Save the words");
    }

    /// <summary>Presses "Choose a folder" and chooses it.</summary>
    public static async Task ChooseAsync(Hands maker, string folder)
    {
        var chooser = await maker.Page.RunAndWaitForFileChooserAsync(() => maker.PressAsync(AriaRole.Button, "Choose a folder"));
        await chooser.SetFilesAsync(folder);
    }

    /// <summary>Sends the folder as a zip, by a form that needs no script; it is checked when it is unpacked.</summary>
    public static async Task SendZipAsync(Hands maker, string zip)
    {
        await maker.PressAsync(AriaRole.Link, "Send a .zip");
        await maker.ChooseAsync("The library’s folder as a .zip", zip);
        await maker.PressAsync(AriaRole.Button, "Send the zip");
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/releases/[0-9]+$", RegexOptions.None, TimeSpan.FromSeconds(1)));
        await maker.SeesAsync("has not changed since");
        await maker.PressAsync(AriaRole.Link, "See the check sheet");
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/sheet$", RegexOptions.None, TimeSpan.FromSeconds(1)));
        await maker.SeesAsync("must fix");
    }

    /// <summary>Drags the folder from the desktop onto the page, by the browser's own input events (Chrome DevTools Protocol).</summary>
    public static async Task DropAsync(Hands maker, string folder)
    {
        var page = maker.Page;
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
    public static Task SignInByMailAsync(IPage page, RunningShelf shelf, string email) => SignInByMailAsync(new PointerHands(page), shelf, email);

    public static async Task SignInByMailAsync(Hands member, RunningShelf shelf, string email)
    {
        await member.Page.GotoAsync(new Uri(shelf.Address, "/sign-in").ToString());
        await member.FillAsync("Your e-mail address", email);
        await member.PressAsync(AriaRole.Button, "Send me the mail");
        // The mail may be there before the answer is, which would then come in the way of the link.
        await Assertions.Expect(member.Page.GetByRole(AriaRole.Heading, new() { Name = "Look in your mail" })).ToBeVisibleAsync();
        await member.Page.GotoAsync(await Outbox.SignInLinkAsync(shelf, email));
        await member.PressAsync(AriaRole.Button, "Sign in");
        await Assertions.Expect(member.Page).ToHaveURLAsync(new Regex("/mine$", RegexOptions.None, TimeSpan.FromSeconds(1)));
    }

    [GeneratedRegex("http://[^ ]+/workbench/claim/[A-Za-z0-9_-]+", RegexOptions.None, 1000)]
    private static partial Regex ClaimLink();
}
