using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Persons;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Pages.Members;

public sealed partial class DeleteMeTests
{
    private const string Wren = "wren@post.example";

    [Fact]
    public async Task Two_presses_the_second_by_mail_signed_out_and_the_open_cookie_is_refused()
    {
        var clock = new FakeTimeProvider(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
        await using var host = new ShelfHost { Clock = clock };
        await host.ClaimAsync();
        var client = await host.SignedInAsync(Wren);
        var page = await client.PageAsync("/mine/delete");
        Assert.Contains("Nothing: you have paid nothing here", page.Body!.TextContent, StringComparison.Ordinal);
        var asked = await client.PressAndStayAsync(page, "Send me the mail that deletes me");
        Assert.Equal("Look into your mail", asked.QuerySelector("h1")!.Words());
        Assert.NotNull(await PersonAsync(host));

        var link = Link().Match((await host.NewestMailAsync(Wren)).Text).Value;
        var visitor = host.Visitor();
        var open = await visitor.PageAsync(link);
        Assert.Contains($"the shelf forgets {Wren}.", open.QuerySelector(".said")!.Words(), StringComparison.Ordinal);
        Assert.NotNull(await PersonAsync(host)); // looking changes nothing
        var done = await visitor.PressAndStayAsync(open, "Delete me for good");
        Assert.Equal("You are deleted", done.QuerySelector("h1")!.Words());
        Assert.Null(await PersonAsync(host));
        Assert.Contains("does not know you any more", (await host.NewestMailAsync(Wren)).Text, StringComparison.Ordinal);
        Assert.False(await host.AskDbAsync(db => db.Outbox.AnyAsync()));

        clock.Advance(TimeSpan.FromMinutes(1.5));
        using var refused = await client.GetAsync(new Uri("/mine", UriKind.Relative));
        Assert.Equal((HttpStatusCode.Redirect, "/sign-in"), (refused.StatusCode, refused.Headers.Location!.OriginalString.Split('?')[0]));
        using var again = await visitor.GetAsync(new Uri(link, UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, again.StatusCode);
    }

    [Fact]
    public async Task Pressed_where_they_are_signed_in_that_ends_at_once()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var client = await host.SignedInAsync(Wren);
        await client.PressAndStayAsync(await client.PageAsync("/mine/delete"), "Send me the mail that deletes me");
        await client.PressAndStayAsync(await client.PageAsync(Link().Match((await host.NewestMailAsync(Wren)).Text).Value), "Delete me for good");
        using var refused = await client.GetAsync(new Uri("/mine", UriKind.Relative));
        Assert.Equal(HttpStatusCode.Redirect, refused.StatusCode);
    }

    [Fact]
    public async Task The_maker_is_told_that_the_shelf_is_hers()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        Assert.Equal("The shelf is yours", (await maker.PageAsync("/mine/delete")).QuerySelector("h1")!.Words());
    }

    [Fact]
    public async Task Asked_for_too_often_no_more_mails_are_written()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var client = await host.SignedInAsync(Wren);
        var page = await client.PageAsync("/mine/delete");
        for (var i = 0; i < AskToDelete.MostAsks; i++)
            await client.PressAndStayAsync(page, "Send me the mail that deletes me");
        using var refused = await client.PressAsync(page, "Send me the mail that deletes me");
        Assert.Equal(HttpStatusCode.TooManyRequests, refused.StatusCode);
        Assert.Equal(AskToDelete.MostAsks, await host.AskDbAsync(db => db.Outbox.CountAsync()));
    }

    private static Task<long?> PersonAsync(ShelfHost host) => host.AskDbAsync(db => db.Users.Where(p => p.Email == Wren).Select(p => (long?)p.Id).SingleOrDefaultAsync());

    [GeneratedRegex("/delete/[A-Za-z0-9_-]{43}", RegexOptions.None, 1000)]
    private static partial Regex Link();
}
