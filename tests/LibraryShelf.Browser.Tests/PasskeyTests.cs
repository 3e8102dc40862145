using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// The maker's passkey in Chromium, with the browser's own virtual authenticator (Chrome DevTools Protocol, domain WebAuthn):
/// added, used, refused with words, removed. On http://localhost, because a passkey is tied to a name and not to an IP address.
/// </summary>
[Collection(OneShelf.Name)]
public sealed class PasskeyTests(ClaimedShelf claimed) : IAsyncLifetime
{
    public Task InitializeAsync() => Task.CompletedTask;

    public Task DisposeAsync() => claimed.SignInAnewAsync();

    [Fact]
    public async Task Is_added_signs_in_and_is_removed()
    {
        await using var hers = await claimed.Shelf.NewContextAsync();
        var page = await hers.NewPageAsync();
        await Walk.SignInAsMakerAsync(page, claimed.Shelf);
        var (browser, device) = await PlugInAsync(page);
        await page.GotoAsync(Address("/workbench/shop"));
        await page.GetByLabel("Name of the new passkey").FillAsync("studio laptop");
        await Button(page, "Add a passkey").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("The passkey is added");
        await Assertions.Expect(page.GetByRole(AriaRole.Row, new() { Name = "studio laptop" })).ToBeVisibleAsync();

        await Button(page, "Add a passkey").ClickAsync();
        await Assertions.Expect(page.Locator("[data-said]")).ToContainTextAsync("has a passkey for this shelf already");

        await SignOutAsync(page);
        await page.GotoAsync(Address("/workbench/sign-in?return=%2Fworkbench%2Ftokens"));
        await Button(page, "Sign in with a passkey").ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Regex("/workbench/tokens$", RegexOptions.None, TimeSpan.FromSeconds(1)));

        await SignOutAsync(page);
        await page.GotoAsync(Address("/workbench/sign-in"));
        await browser.SendAsync("WebAuthn.setUserVerified", new() { ["authenticatorId"] = device, ["isUserVerified"] = false });
        await Button(page, "Sign in with a passkey").ClickAsync();
        await Assertions.Expect(page.Locator("[data-said]")).ToContainTextAsync("cancelled, took too long");
        await browser.SendAsync("WebAuthn.setUserVerified", new() { ["authenticatorId"] = device, ["isUserVerified"] = true });

        await Walk.SignInAsMakerAsync(page, claimed.Shelf); // the password works as ever
        await page.GotoAsync(Address("/workbench/shop"));
        await Button(page, "Remove studio laptop").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("The passkey is removed");
        await Assertions.Expect(page.GetByRole(AriaRole.Main)).ToContainTextAsync("No passkeys yet.");

        await SignOutAsync(page);
        await page.GotoAsync(Address("/workbench/sign-in"));
        await Button(page, "Sign in with a passkey").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Alert).First).ToContainTextAsync("that passkey is not known here");
    }

    [Fact]
    public async Task A_browser_without_passkeys_says_so_and_one_without_script_has_the_password()
    {
        await using var old = await claimed.Shelf.NewContextAsync();
        var page = await old.NewPageAsync();
        await page.AddInitScriptAsync("delete window.PublicKeyCredential");
        await page.GotoAsync(Address("/workbench/sign-in"));
        await Button(page, "Sign in with a passkey").ClickAsync();
        await Assertions.Expect(page.Locator("[data-said]")).ToContainTextAsync("can’t use passkeys here");

        await using var plain = await claimed.Shelf.NewContextAsync(new() { JavaScriptEnabled = false });
        var bare = await plain.NewPageAsync();
        await bare.GotoAsync(Address("/workbench/sign-in"));
        await Assertions.Expect(Button(bare, "Sign in with a passkey")).ToBeHiddenAsync();
        await Walk.SignInAsMakerAsync(bare, claimed.Shelf);
        await bare.GotoAsync(Address("/workbench/shop"));
        await Assertions.Expect(bare.GetByText("Adding a passkey needs script")).ToBeVisibleAsync();
    }

    private string Address(string path) => new Uri(claimed.Shelf.Address, path).ToString();

    private static ILocator Button(IPage page, string words) => page.GetByRole(AriaRole.Button, new() { Name = words, Exact = true });

    private async Task SignOutAsync(IPage page)
    {
        await page.GotoAsync(Address("/sign-out"));
        await Button(page, "Sign out").ClickAsync();
        await Assertions.Expect(page).ToHaveURLAsync(Address("/"));
    }

    /// <summary>A device with a lock of its own that says yes at once.</summary>
    private static async Task<(ICDPSession Browser, string Device)> PlugInAsync(IPage page)
    {
        var browser = await page.Context.NewCDPSessionAsync(page);
        await browser.SendAsync("WebAuthn.enable");
        var made = await browser.SendAsync("WebAuthn.addVirtualAuthenticator", new()
        {
            ["options"] = new
            {
                protocol = "ctap2", transport = "internal", hasResidentKey = true, hasUserVerification = true, isUserVerified = true,
                automaticPresenceSimulation = true,
            },
        });
        return (browser, made!.Value.GetProperty("authenticatorId").GetString()!);
    }
}
