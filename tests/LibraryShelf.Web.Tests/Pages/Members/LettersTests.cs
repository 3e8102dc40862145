using System.Net;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Members;

/// <summary>Stopping mails: by one click of a mail program, by a person without signing in, and signed in.</summary>
public sealed class LettersTests
{
    private const string Wren = "wren@post.example", Key = "AAAAAAAAAAAAAAAAAAAAAA";

    /// <summary>RFC 8058 §3.1 and §3.2: opening the address does nothing; the POST, with this body and without cookies or other context, does it at once and is led nowhere.</summary>
    [Fact]
    public async Task One_click_stops_a_kind_without_cookies_and_is_led_nowhere()
    {
        await using var host = await KnownAsync();
        var address = new Uri($"/letters/{Key}/drop", UriKind.Relative);
        Assert.Contains("Stop these mails?", (await host.Visitor().PageAsync(address.OriginalString)).QuerySelector("h1")!.TextContent, StringComparison.Ordinal);
        Assert.Empty(await RefusedAsync(host));
        for (var press = 0; press < 2; press++)
        {
            using var program = host.Visitor();
            using var body = new FormUrlEncodedContent([new("List-Unsubscribe", "One-Click")]);
            using var answer = await program.PostAsync(address, body);
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
            Assert.False(answer.Headers.Contains("Set-Cookie"));
            Assert.Equal([MailKind.Drop], await RefusedAsync(host));
        }
        using var multipart = new MultipartFormDataContent { { new StringContent("One-Click"), "List-Unsubscribe" } };
        using var other = await host.Visitor().PostAsync(new Uri($"/letters/{Key}/new-version", UriKind.Relative), multipart);
        Assert.Equal(HttpStatusCode.OK, other.StatusCode);
        Assert.Equal([MailKind.Drop, MailKind.NewVersion], (await RefusedAsync(host)).Order());
    }

    [Theory]
    [InlineData("/letters/AAAAAAAAAAAAAAAAAAAAA/drop", 404)] // cut off
    [InlineData("/letters/AAAAAAAAAAAAAAAAAAAAAA/sign-in", 404)] // can't be stopped
    [InlineData("/letters/BBBBBBBBBBBBBBBBBBBBBB/drop", 200)] // nobody's any more: nothing goes there by it
    public async Task A_link_that_is_not_whole_stops_nothing(string address, int status)
    {
        await using var host = await KnownAsync();
        using var body = new FormUrlEncodedContent([new("List-Unsubscribe", "One-Click")]);
        using var answer = await host.Visitor().PostAsync(new Uri(address, UriKind.Relative), body);
        Assert.Equal(status, (int)answer.StatusCode);
        Assert.Empty(await RefusedAsync(host));
    }

    [Fact]
    public async Task A_person_stops_and_takes_it_back_and_chooses_all_of_them_signed_in()
    {
        await using var host = await KnownAsync();
        var visitor = host.Visitor();
        var stopped = await visitor.PressAndStayAsync(await visitor.PageAsync($"/letters/{Key}/withdrawal"), "Send me no more of them");
        Assert.Equal([MailKind.Withdrawal], await RefusedAsync(host));
        await visitor.PressAndStayAsync(stopped, "Send them to me again");
        Assert.Empty(await RefusedAsync(host));

        var wren = await host.SignedInAsync(Wren);
        using var form = new FormUrlEncodedContent([new("wanted", "drop"), new("wanted", "follow"), new("wanted", "nonsense"),
            new("__RequestVerificationToken", (await wren.PageAsync("/mine/letters")).QuerySelector("main input[name=__RequestVerificationToken]")!.GetAttribute("value")!)]);
        using var answer = await wren.PostAsync(new Uri("/mine/letters", UriKind.Relative), form);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal([MailKind.NewVersion, MailKind.Withdrawal, MailKind.FaultMended, MailKind.RenewalFailed, MailKind.Welcome, MailKind.Goodbye], (await RefusedAsync(host)).Order());
        var page = await wren.PageAsync("/mine/letters");
        Assert.Equal(["drop", "follow"], page.QuerySelectorAll("input[name=wanted][checked]").Select(i => i.GetAttribute("value")));
    }

    private static async Task<ShelfHost> KnownAsync()
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.PersonAsync(Wren);
        await host.WithDbAsync(db => db.Users.Where(p => p.Email == Wren).ExecuteUpdateAsync(s => s.SetProperty(p => p.LetterKey, Key)));
        return host;
    }

    private static Task<List<MailKind>> RefusedAsync(ShelfHost host) => host.AskDbAsync(db => db.MailRefusals.Select(r => r.Kind).ToListAsync());
}
