using System.Net;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Setup;

/// <summary>Whichever way somebody signs in, the cookie is worth no more than its device's row.</summary>
public sealed class DeviceCheckTests
{
    private const string Wren = "wren@post.example";
    private const string FirefoxOnLinux = "Mozilla/5.0 (X11; Linux x86_64; rv:145.0) Gecko/20100101 Firefox/145.0";
    private const string SafariOnIPhone =
        "Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/26.0 Mobile/15E148 Safari/604.1";

    /// <summary>Longer than a cookie goes unchecked.</summary>
    private static readonly TimeSpan Checked = TimeSpan.FromSeconds(61);

    private static ShelfHost Host() => new() { Clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow()) };

    /// <summary>A browser of its own, signed in by the mailed link or code.</summary>
    private static async Task<HttpClient> SignInAsync(ShelfHost host, string agent, bool byCode = false)
    {
        var client = host.Visitor();
        client.DefaultRequestHeaders.TryAddWithoutValidation("User-Agent", agent);
        var mail = await host.AskAsync(client, Wren);
        using var pressed = byCode
            ? await client.PressAsync(await client.PageAsync("/sign-in/code"), "Sign in with the code", ("Email", Wren), ("Code", mail.Code))
            : await client.PressAsync(await client.PageAsync(mail.Link), "Sign in");
        Assert.Equal("/mine", pressed.Headers.Location?.OriginalString);
        return client;
    }

    private static async Task<bool> IsSignedInAsync(HttpClient client)
    {
        using var answer = await client.GetAsync(new Uri("/mine", UriKind.Relative));
        return answer.StatusCode == HttpStatusCode.OK;
    }

    private static Task<List<Device>> DevicesAsync(ShelfHost host) => host.AskDbAsync(db => db.Devices.AsNoTracking().OrderBy(d => d.Id).ToListAsync());

    [Fact]
    public async Task One_device_signs_the_other_out_and_stays_itself()
    {
        await using var host = Host();
        var (desk, phone) = (await SignInAsync(host, FirefoxOnLinux), await SignInAsync(host, SafariOnIPhone, byCode: true));
        var page = await desk.PageAsync("/mine");
        Assert.Equal(
            ["Firefox on Linux, this one", "Safari on iPhone"],
            page.QuerySelector("#devices ~ table")!.QuerySelectorAll("th[scope=row]").Select(d => d.Words()).Order(StringComparer.Ordinal));
        var there = page.QuerySelectorAll("button").Single(b => b.Words().StartsWith("Sign out there", StringComparison.Ordinal)).Words();
        var after = await desk.PressAndFollowAsync(page, there);
        Assert.Contains("Signed out there.", after.Body!.TextContent, StringComparison.Ordinal);
        Assert.True(await IsSignedInAsync(phone)); // it has not noticed yet
        host.Clock!.Advance(Checked);
        Assert.False(await IsSignedInAsync(phone));
        Assert.True(await IsSignedInAsync(desk));
        host.Clock.Advance(Checked); // the renewed cookie names the device, too
        Assert.True(await IsSignedInAsync(desk));
        Assert.Equal(2, (await DevicesAsync(host)).Count);
    }

    [Fact]
    public async Task Everywhere_else_is_all_but_here()
    {
        await using var host = Host();
        var desk = await SignInAsync(host, FirefoxOnLinux);
        HttpClient[] others = [await SignInAsync(host, SafariOnIPhone), await SignInAsync(host, SafariOnIPhone)];
        var after = await desk.PressAndFollowAsync(await desk.PageAsync("/mine"), "Sign out everywhere else");
        Assert.Contains("Signed out on two other devices.", after.Body!.TextContent, StringComparison.Ordinal);
        host.Clock!.Advance(Checked);
        Assert.True(await IsSignedInAsync(desk));
        foreach (var other in others)
            Assert.False(await IsSignedInAsync(other));
    }

    [Fact]
    public async Task Nobody_ends_anothers_device()
    {
        await using var host = Host();
        var desk = await SignInAsync(host, FirefoxOnLinux);
        var id = Assert.Single(await DevicesAsync(host)).Id;
        var robin = await host.SignedInAsync("robin@post.example");
        var proof = (await robin.PageAsync("/sign-out")).QuerySelector("main input[name=__RequestVerificationToken]")!.GetAttribute("value")!;
        using var content = new FormUrlEncodedContent([new("id", $"{id}"), new("__RequestVerificationToken", proof)]);
        using var pressed = await robin.PostAsync(new Uri("/mine?handler=EndDevice", UriKind.Relative), content);
        Assert.Equal(HttpStatusCode.NotFound, pressed.StatusCode);
        Assert.Contains("You are not signed in there any more.", await pressed.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        host.Clock!.Advance(Checked);
        Assert.True(await IsSignedInAsync(desk));
    }

    [Fact]
    public async Task Signing_out_ends_the_row_so_that_a_copied_cookie_is_worth_nothing()
    {
        await using var host = Host();
        var desk = await SignInAsync(host, FirefoxOnLinux);
        using var pressed = await desk.PressAsync(await desk.PageAsync("/sign-out"), "Sign out");
        Assert.Equal(host.Clock!.GetUtcNow().ToUnixTimeMilliseconds(), Assert.Single(await DevicesAsync(host)).EndedAt?.ToUnixTimeMilliseconds());
    }

    [Fact]
    public async Task A_cookie_from_before_gets_one_row_at_its_next_check_and_stays_good()
    {
        await using var host = Host();
        var client = await host.SignedInAsync(Wren); // names no device
        Assert.True(await IsSignedInAsync(client));
        Assert.Empty(await DevicesAsync(host));
        for (var i = 0; i < 3; i++)
        {
            host.Clock!.Advance(Checked);
            Assert.True(await IsSignedInAsync(client));
        }
        Assert.Equal("A browser", Assert.Single(await DevicesAsync(host)).Words);
    }

    [Fact]
    public async Task When_it_was_seen_is_kept_to_within_minutes()
    {
        await using var host = Host();
        var desk = await SignInAsync(host, FirefoxOnLinux);
        var began = Assert.Single(await DevicesAsync(host)).SeenAt;
        host.Clock!.Advance(Checked);
        Assert.True(await IsSignedInAsync(desk));
        Assert.Equal(began, Assert.Single(await DevicesAsync(host)).SeenAt);
        host.Clock.Advance(SeeDevice.SeenWithin);
        Assert.True(await IsSignedInAsync(desk));
        Assert.Equal(began + Checked + SeeDevice.SeenWithin, Assert.Single(await DevicesAsync(host)).SeenAt);
    }

    [Fact]
    public async Task A_new_password_ends_every_device_and_this_one_begins_anew()
    {
        await using var host = Host();
        await host.ClaimAsync();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, "four tins and a spoon");
        var (desk, other) = (host.Visitor(), host.Visitor());
        foreach (var client in new[] { desk, other })
            await client.PressAndFollowAsync(await client.PageAsync("/workbench/sign-in"), "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", "four tins and a spoon"));
        await desk.PressAndFollowAsync(await desk.PageAsync("/workbench/shop"), "Change the password", ("password", "five tins and a fork"));
        host.Clock!.Advance(Checked);
        Assert.True(await IsSignedInAsync(desk));
        Assert.False(await IsSignedInAsync(other));
        Assert.Equal([true, true, false], (await DevicesAsync(host)).Select(d => d.EndedAt is not null));
    }

    [Fact]
    public async Task Who_signs_in_where_another_was_takes_the_browser_over()
    {
        await using var host = Host();
        var client = await SignInAsync(host, FirefoxOnLinux);
        var first = Assert.Single(await DevicesAsync(host));
        var mail = await host.AskAsync(client, Wren);
        await client.PressAndFollowAsync(await client.PageAsync(mail.Link), "Sign in");
        Assert.Equal(first.Id, Assert.Single(await DevicesAsync(host)).Id); // the same person again: the same device
        mail = await host.AskAsync(client, "robin@post.example");
        await client.PressAndFollowAsync(await client.PageAsync(mail.Link), "Sign in");
        Assert.Equal([true, false], (await DevicesAsync(host)).Select(d => d.EndedAt is not null));
    }
}
