using System.Net;
using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Pages.Members;

public sealed class AddressTests
{
    private const string Wren = "wren@post.example";
    private const string Moved = "wren@moved.example";

    private static async Task<HttpClient> SignInAsync(ShelfHost host)
    {
        var client = host.Visitor();
        await client.PressAndFollowAsync(await client.PageAsync((await host.AskAsync(client, Wren)).Link), "Sign in");
        return client;
    }

    /// <summary>The answer's main part after asking for <paramref name="email"/>, and the tokens that the two mailboxes hold.</summary>
    private static async Task<(string Said, string Old, string New)> AskAsync(ShelfHost host, HttpClient client, string email = Moved, string old = Wren)
    {
        var answer = await client.PressAndStayAsync(await client.PageAsync("/mine/address"), "Send both mails", ("Email", email));
        return (answer.QuerySelector("main")!.Words(), (await host.NewestMailAsync(old)).AddressToken, (await host.NewestMailAsync(email)).AddressToken);
    }

    [Fact]
    public async Task Both_mailboxes_say_yes_and_this_device_alone_stays_signed_in()
    {
        await using var host = new ShelfHost { Clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow()) };
        var (desk, phone) = (await SignInAsync(host), await SignInAsync(host));
        host.Clock.Advance(TimeSpan.FromSeconds(1)); // so that its mail is newer than those that signed in
        var (_, old, fresh) = await AskAsync(host, desk);
        var stranger = host.Visitor();
        var page = await stranger.PageAsync("/address/" + fresh); // where the new mailbox is read nobody need be signed in
        Assert.DoesNotContain(Wren, page.Body!.TextContent, StringComparison.Ordinal);
        Assert.Equal("Yes, from this address", (await stranger.PressAndStayAsync(page, "Yes, change it")).QuerySelector("h1")!.Words());
        var done = await desk.PressAndStayAsync(await desk.PageAsync("/address/" + old), "Yes, change it");
        Assert.Equal("Your address has changed", done.QuerySelector("h1")!.Words());
        Assert.Contains($"You sign in as {Moved}", (await desk.PageAsync("/mine")).Body!.TextContent, StringComparison.Ordinal);
        host.Clock!.Advance(TimeSpan.FromSeconds(61));
        await desk.PageAsync("/mine");
        using var elsewhere = await phone.GetAsync(new Uri("/mine", UriKind.Relative));
        Assert.Equal(HttpStatusCode.Redirect, elsewhere.StatusCode);
        using var again = await stranger.GetAsync(new Uri("/address/" + fresh, UriKind.Relative));
        Assert.Equal(HttpStatusCode.Gone, again.StatusCode);
    }

    [Fact]
    public async Task Opening_the_links_says_nothing_and_no_closes_both()
    {
        await using var host = new ShelfHost();
        var desk = await SignInAsync(host);
        var (_, old, fresh) = await AskAsync(host, desk);
        foreach (var token in new[] { old, fresh, old })
            await desk.PageAsync("/address/" + token);
        Assert.True(await host.AskDbAsync(db => db.AddressChanges.AnyAsync(c => c.OldSaidYesAt == null && c.NewSaidYesAt == null && c.EndedAt == null)));
        var stranger = host.Visitor();
        Assert.Equal("Nothing was changed", (await stranger.PressAndStayAsync(await stranger.PageAsync("/address/" + fresh), "No, leave it as it is")).QuerySelector("h1")!.Words());
        using var closed = await desk.GetAsync(new Uri("/address/" + old, UriKind.Relative));
        Assert.Equal(HttpStatusCode.Gone, closed.StatusCode);
        Assert.Equal(Wren, await host.AskDbAsync(db => db.Users.Select(p => p.Email).SingleAsync()));
    }

    [Fact]
    public async Task The_page_answers_alike_whether_the_shelf_knows_the_address()
    {
        await using var host = new ShelfHost();
        await host.PersonAsync("known@post.example");
        var desk = await SignInAsync(host);
        var (known, _, token) = await AskAsync(host, desk, "known@post.example");
        var (unknown, _, _) = await AskAsync(host, desk, "newer@post.example");
        Assert.Equal(known, unknown.Replace("newer@", "known@", StringComparison.Ordinal));
        Assert.Equal("", token);
    }

    [Fact]
    public async Task The_maker_signs_in_with_her_password_and_the_new_address()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, "four tins and a spoon");
        var maker = host.Visitor();
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/sign-in"), "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", "four tins and a spoon"));
        var (_, old, fresh) = await AskAsync(host, maker, "maker@moved.example", ShelfHost.MakerEmail);
        foreach (var token in new[] { old, fresh })
            await maker.PressAndStayAsync(await maker.PageAsync("/address/" + token), "Yes, change it");
        await maker.PageAsync("/workbench"); // still signed in, as the maker
        var client = host.Visitor();
        var page = await client.PageAsync("/workbench/sign-in");
        using (var before = await client.PressAsync(page, "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", "four tins and a spoon")))
            Assert.Equal(HttpStatusCode.BadRequest, before.StatusCode);
        using var now = await client.PressAsync(page, "Sign in", ("Email", "maker@moved.example"), ("Password", "four tins and a spoon"));
        Assert.Equal("/workbench", now.Headers.Location?.OriginalString);
    }

    [Theory]
    [InlineData("wren", "That is no e-mail address. It looks like wren@post.example.")]
    [InlineData("WREN@post.example", "That is the address you have.")]
    public async Task What_is_no_other_address_comes_back_with_words(string typed, string words)
    {
        await using var host = new ShelfHost();
        var desk = await SignInAsync(host);
        var back = await desk.PressAndStayAsync(await desk.PageAsync("/mine/address"), "Send both mails", ("Email", typed));
        Assert.Equal(words, back.QuerySelector("#Email-error")!.Words());
        Assert.False(await host.AskDbAsync(db => db.AddressChanges.AnyAsync()));
    }
}
