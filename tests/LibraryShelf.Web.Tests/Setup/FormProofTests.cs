using System.Net;
using LibraryShelf.Web.Tests.Endpoints;

namespace LibraryShelf.Web.Tests.Setup;

/// <summary>
/// Who is not signed in proves where a form is from by what their browser says of itself. Cases after W3C Fetch Metadata §2.4
/// (Sec-Fetch-Site) and WHATWG Fetch §3.2 (Origin; "null" where it is kept back).
/// </summary>
public sealed class FormProofTests
{
    [Fact]
    public async Task A_visitors_form_counts_when_their_browser_says_that_it_is_from_here()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:PublicUrl"] = "http://shelf.example:8443" } };
        (string? Site, string? Origin, string Host, bool IsTaken)[] cases =
        [
            ("same-origin", null, "localhost", true),
            ("same-origin", "https://elsewhere.example", "localhost", true), // the one header says it all
            ("none", null, "localhost", true),
            ("same-site", "http://localhost", "localhost", false),
            ("cross-site", "http://localhost", "localhost", false),
            ("nonsense", "http://localhost", "localhost", false),
            (null, "http://localhost", "localhost", true), // plain http in a network at home: no Sec-Fetch-Site
            (null, "http://localhost:80", "localhost", true),
            (null, "http://localhost", "localhost:80", true),
            (null, "https://localhost", "localhost", true), // a proxy that speaks TLS
            (null, "http://shelf.example:8443", "localhost", true), // a proxy that changes the name
            (null, "http://shelf.example", "localhost", false),
            (null, "http://localhost:8080", "localhost", false),
            (null, "http://localhost.elsewhere.example", "localhost", false),
            (null, "null", "localhost", false),
            (null, null, "localhost", false),
        ];
        foreach (var (site, origin, name, isTaken) in cases)
            await IsTakenAsync(host, site, origin, name, isTaken);
    }

    [Fact]
    public async Task Where_people_come_by_https_a_page_of_plain_http_is_none_of_its_own()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:PublicUrl"] = "https://shelf.example" } };
        await IsTakenAsync(host, null, "https://shelf.example", "localhost", isTaken: true);
        await IsTakenAsync(host, null, "http://shelf.example", "localhost", isTaken: false);
        await IsTakenAsync(host, null, "http://shelf.example", "shelf.example", isTaken: false);
    }

    private static async Task IsTakenAsync(ShelfHost host, string? site, string? origin, string name, bool isTaken)
    {
        using var visitor = host.Visitor();
        using var press = new HttpRequestMessage(HttpMethod.Post, "/sign-out") { Content = new FormUrlEncodedContent([]) };
        press.Headers.Host = name;
        if (site is not null)
            press.Headers.Add("Sec-Fetch-Site", site);
        if (origin is not null)
            press.Headers.Add("Origin", origin);
        using var answer = await visitor.SendAsync(press);
        Assert.True((isTaken ? HttpStatusCode.Redirect : HttpStatusCode.BadRequest) == answer.StatusCode, $"{site} {origin} {name}: {answer.StatusCode}");
    }

    [Fact]
    public async Task Who_is_signed_in_needs_the_token_of_their_own_page_whatever_the_browser_says()
    {
        await using var host = new ShelfHost();
        var wren = await host.SignedInAsync("wren@post.example");
        Assert.NotNull((await wren.PageAsync("/sign-out")).QuerySelector("main input[name=__RequestVerificationToken]"));
        using var press = new HttpRequestMessage(HttpMethod.Post, "/sign-out") { Content = new FormUrlEncodedContent([]) };
        press.Headers.Add("Sec-Fetch-Site", "same-origin");
        using var answer = await wren.SendAsync(press);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
    }

    [Fact]
    public async Task A_visitors_form_has_no_field_and_its_page_no_cookie()
    {
        await using var host = new ShelfHost();
        using var visitor = host.Visitor();
        using var look = await visitor.GetAsync(new Uri("/sign-in", UriKind.Relative));
        Assert.Null(look.Header("Set-Cookie"));
        // Who signs in and goes back gets the page anew, with its token.
        Assert.True(look.Headers.CacheControl is { NoStore: true, NoCache: true });
        Assert.DoesNotContain("__RequestVerificationToken", await look.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }
}
