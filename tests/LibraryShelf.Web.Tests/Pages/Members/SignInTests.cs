using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Pages.Members;

/// <summary>Sign-in by mail, walked as a person does: pages, forms and the .eml file.</summary>
public sealed class SignInTests
{
    private const string Wren = "wren@post.example";

    /// <summary>Near the machine's clock, because the test's cookie jar throws expired cookies away by that one.</summary>
    private static FakeTimeProvider Clock() => new(TimeProvider.System.GetUtcNow());

    [Fact]
    public async Task Opening_the_link_uses_nothing_up_and_its_button_does_once()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var client = host.Visitor();
        var mail = await host.AskAsync(client, Wren);

        Assert.Equal("Sign in to Saltmarsh Sound Room", mail.Subject);
        Assert.Contains("30 minutes", mail.Text, StringComparison.Ordinal);
        using (var head = await host.Visitor().SendAsync(new HttpRequestMessage(HttpMethod.Head, mail.Link)))
            Assert.Equal(HttpStatusCode.OK, head.StatusCode);
        await host.Visitor().PageAsync(mail.Link);
        var page = await client.PageAsync(mail.Link);
        Assert.True(await host.AskDbAsync(db => db.SignInTickets.AllAsync(t => t.UsedAt == null)));
        Assert.False(await host.AskDbAsync(db => db.Users.AnyAsync(p => p.Email == Wren)));

        using var pressed = await client.PressAsync(page, "Sign in");
        Assert.Equal("/mine", pressed.Headers.Location?.OriginalString);
        var mine = await client.PageAsync("/mine");
        Assert.Contains(Wren, mine.Body!.TextContent, StringComparison.Ordinal);

        using var again = await client.PressAsync(page, "Sign in");
        Assert.Equal(HttpStatusCode.BadRequest, again.StatusCode); // the form was made for someone signed out
        var late = await host.Visitor().GetAsync(new Uri(mail.Link, UriKind.Relative));
        Assert.Equal(HttpStatusCode.Gone, late.StatusCode);
        Assert.Contains("This link was used", await late.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_second_press_on_another_device_is_refused()
    {
        await using var host = new ShelfHost();
        var (one, other) = (host.Visitor(), host.Visitor());
        var mail = await host.AskAsync(one, Wren);
        var (pageOfOne, pageOfOther) = (await one.PageAsync(mail.Link), await other.PageAsync(mail.Link));

        using var first = await one.PressAsync(pageOfOne, "Sign in");
        Assert.Equal(HttpStatusCode.Redirect, first.StatusCode);
        using var second = await other.PressAsync(pageOfOther, "Sign in");
        Assert.Equal(HttpStatusCode.Gone, second.StatusCode);
        Assert.False(second.Headers.Contains("Set-Cookie"));
    }

    [Fact]
    public async Task The_code_signs_in_on_another_device_and_uses_the_link_up()
    {
        await using var host = new ShelfHost();
        var (desk, phone) = (host.Visitor(), host.Visitor());
        var mail = await host.AskAsync(desk, Wren);

        var form = await phone.PageAsync("/sign-in/code");
        using var pressed = await phone.PressAsync(form, "Sign in with the code",
            ("Email", " WREN@post.example "), ("Code", mail.Code.ToLowerInvariant().Replace("-", " ", StringComparison.Ordinal)));
        Assert.Equal("/mine", pressed.Headers.Location?.OriginalString);
        await phone.PageAsync("/mine");
        using var link = await desk.GetAsync(new Uri(mail.Link, UriKind.Relative));
        Assert.Equal(HttpStatusCode.Gone, link.StatusCode);
    }

    [Fact]
    public async Task Expired_altered_and_cut_links_say_what_to_do_and_sign_nobody_in()
    {
        var clock = Clock();
        await using var host = new ShelfHost { Clock = clock };
        var client = host.Visitor();
        var mail = await host.AskAsync(client, Wren);
        var page = await client.PageAsync(mail.Link);
        foreach (var wrong in new[] { mail.Link[..^1], mail.Link[..^1] + (mail.Link[^1] == 'A' ? 'B' : 'A') })
        {
            using var answer = await client.GetAsync(new Uri(wrong, UriKind.Relative));
            Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
            Assert.Contains("Ask for a new mail", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }

        clock.Advance(TimeSpan.FromMinutes(30));
        using var late = await client.PressAsync(page, "Sign in");
        Assert.Equal(HttpStatusCode.Gone, late.StatusCode);
        Assert.Contains("This link has run out", await late.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        var codePage = await client.PageAsync("/sign-in/code");
        using var code = await client.PressAsync(codePage, "Sign in with the code", ("Email", Wren), ("Code", mail.Code));
        Assert.Equal(HttpStatusCode.BadRequest, code.StatusCode);
    }

    [Fact]
    public async Task One_moment_before_it_runs_out_the_link_still_works()
    {
        var clock = Clock();
        await using var host = new ShelfHost { Clock = clock };
        var client = host.Visitor();
        var mail = await host.AskAsync(client, Wren);
        clock.Advance(TimeSpan.FromMinutes(30) - TimeSpan.FromSeconds(1));
        using var pressed = await client.PressAsync(await client.PageAsync(mail.Link), "Sign in");
        Assert.Equal("/mine", pressed.Headers.Location?.OriginalString);
    }

    [Theory]
    [InlineData("/boxes/jam-jar-marimba?from=shelf", "/boxes/jam-jar-marimba?from=shelf")]
    [InlineData("https://elsewhere.example/", "/mine")]
    [InlineData("//elsewhere.example", "/mine")]
    [InlineData("/\\elsewhere.example", "/mine")]
    public async Task Signing_in_leads_on_only_within_the_shelf(string wanted, string led)
    {
        await using var host = new ShelfHost();
        var client = host.Visitor();
        var mail = await host.AskAsync(client, Wren, "/sign-in?return=" + Uri.EscapeDataString(wanted));
        using var pressed = await client.PressAsync(await client.PageAsync(mail.Link), "Sign in");
        Assert.Equal(led, pressed.Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task A_visitor_is_led_from_what_is_theirs_to_signing_in_and_back()
    {
        await using var host = new ShelfHost();
        var client = host.Visitor();
        using var answer = await client.GetAsync(new Uri("/mine", UriKind.Relative));
        Assert.Equal("/sign-in?return=%2Fmine", answer.Headers.Location?.OriginalString);
        var mail = await host.AskAsync(client, Wren, answer.Headers.Location!.OriginalString);
        Assert.EndsWith("?return=%2Fmine", mail.Link, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_answer_does_not_tell_whether_the_shelf_knows_the_address()
    {
        await using var host = new ShelfHost();
        await host.PersonAsync(Wren);
        var client = host.Visitor();
        var known = await client.PressAndStayAsync(await client.PageAsync("/sign-in"), "Send me the mail", ("Email", Wren));
        var unknown = await client.PressAndStayAsync(await client.PageAsync("/sign-in"), "Send me the mail", ("Email", "newt@post.example"));
        Assert.Equal(Said(known), Said(unknown).Replace("newt@", "wren@", StringComparison.Ordinal));

        static string Said(AngleSharp.Dom.IDocument page) => page.QuerySelector("main")!.Words();
    }

    [Fact]
    public async Task A_forged_host_header_puts_no_address_into_the_mail()
    {
        await using var host = new ShelfHost();
        var client = host.Visitor();
        using var request = new HttpRequestMessage(HttpMethod.Post, "/sign-in") { Content = new FormUrlEncodedContent([new("Email", Wren)]) };
        request.Headers.Add("Sec-Fetch-Site", "same-origin");
        request.Headers.Host = "evil.example";
        using var answer = await client.SendAsync(request);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var mail = await host.NewestMailAsync(Wren);
        Assert.DoesNotContain("evil", mail.Text, StringComparison.Ordinal);
        Assert.Equal("", mail.Link);
        Assert.NotEqual("", mail.Code);
    }

    [Fact]
    public async Task Too_many_tries_from_one_network_are_put_off_with_words()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:SignIn:MostTries"] = "5" } };
        var client = host.Visitor();
        var page = await client.PageAsync("/sign-in/code");
        for (var i = 0; i < 5; i++)
        {
            using var wrong = await client.PressAsync(page, "Sign in with the code", ("Email", Wren), ("Code", "AAAA-AAAA"));
            Assert.Equal(HttpStatusCode.BadRequest, wrong.StatusCode);
        }
        using var sixth = await client.PressAsync(page, "Sign in with the code", ("Email", Wren), ("Code", "AAAA-AAAA"));
        Assert.Equal(HttpStatusCode.TooManyRequests, sixth.StatusCode);
        Assert.Contains("Too often, for now", await sixth.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        await client.PageAsync("/sign-in"); // looking is never limited
    }

    [Fact]
    public async Task Signing_out_takes_a_button_and_ends_the_cookie()
    {
        await using var host = new ShelfHost();
        var client = await host.SignedInAsync(Wren);
        var page = await client.PageAsync("/sign-out");
        await client.PageAsync("/mine"); // looking at the page signs nobody out
        using var pressed = await client.PressAsync(page, "Sign out");
        using var mine = await client.GetAsync(new Uri("/mine", UriKind.Relative));
        Assert.Equal(HttpStatusCode.Redirect, mine.StatusCode);
    }
}
