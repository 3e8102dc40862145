using System.Net;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class ClaimTests
{
    private const string Password = "four tins and a spoon";

    private static async Task<string> LinkAsync(ShelfHost host) =>
        "/workbench/claim/" + await host.RunAsync<OfferClaim, string?>(offer => offer.RunAsync(CancellationToken.None));

    [Fact]
    public async Task The_maker_claims_an_empty_shelf_once_and_signs_in_with_her_password()
    {
        await using var host = new ShelfHost();
        var link = await LinkAsync(host);
        var client = host.Visitor();
        var page = await client.PageAsync(link);
        foreach (var text in new[] { "Terms", "Privacy", "Licence" })
            Assert.Matches("not legal advice: the law where you live goes before it, .* licensed", page.GetElementById($"Shop-{text}-hint")!.Words());
        using (var claimed = await client.PressAsync(page, "Claim the shelf",
            ("Email", "maker@tinworks.example"), ("Password", Password), ("Shop.Name", "Tinworks"),
            ("Shop.Contact", "hello@tinworks.example"), ("Shop.TimeZone", "Europe/Lisbon"), ("Shop.Currency", "GBP")))
            Assert.Equal("/workbench", claimed.Headers.Location?.OriginalString);
        var waiting = (await client.PageAsync("/workbench")).QuerySelector("section[aria-labelledby=waiting] li")!;
        Assert.StartsWith("Terms, Privacy, Licence for the recordings As the shelf began with it, which is no legal advice.", waiting.Words(), StringComparison.Ordinal);
        Assert.NotNull((await client.PageAsync("/workbench/shop")).QuerySelector("textarea" + new Uri(client.BaseAddress!, waiting.QuerySelector("a")!.GetAttribute("href")).Fragment));

        var shop = await host.AskDbAsync(db => db.Shops.SingleAsync());
        Assert.Equal(("Tinworks", "Europe/Lisbon", "GBP"), (shop.Name, shop.TimeZone, shop.Currency));
        Assert.Contains("Tinworks is run by the maker", shop.Terms, StringComparison.Ordinal);
        Assert.DoesNotContain("{", shop.Terms + shop.Privacy + shop.Licence, StringComparison.Ordinal);
        using (var again = await host.Visitor().GetAsync(new Uri(link, UriKind.Relative)))
            Assert.Equal(HttpStatusCode.Gone, again.StatusCode);
        Assert.Equal("/workbench/claim/", await LinkAsync(host));

        var later = host.Visitor();
        var door = await later.PageAsync("/workbench/sign-in?return=%2Fworkbench%2Ftokens");
        using var opened = await later.PressAsync(door, "Sign in", ("Email", "Maker@Tinworks.example"), ("Password", Password));
        Assert.Equal("/workbench/tokens", opened.Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task A_faulty_form_names_each_field_keeps_what_was_typed_and_uses_nothing_up()
    {
        await using var host = new ShelfHost();
        var client = host.Visitor();
        var link = await LinkAsync(host);
        var page = await client.PressAndStayAsync(await client.PageAsync(link), "Claim the shelf",
            ("Email", "nobody"), ("Password", "elevenchars"), ("Shop.Name", "Tinworks"), ("Shop.TimeZone", "Atlantis"), ("Shop.LicenceInShort", new string('x', InShort.MaxLength + 1)));
        Assert.Contains("what you typed is still here, except the password", page.QuerySelector(".problems")!.Words(), StringComparison.Ordinal);
        Assert.Equal(InShort.MaxLength + 1, page.QuerySelector("#Shop-LicenceInShort")!.TextContent.Trim().Length);
        foreach (var id in new[] { "Email", "Password", "Shop-Contact", "Shop-TimeZone", "Shop-LicenceInShort" })
        {
            Assert.NotNull(page.QuerySelector($".problems a[href='#{id}']"));
            var field = page.QuerySelector($"#{id}")!;
            Assert.Contains($"{id}-error", field.GetAttribute("aria-describedby"), StringComparison.Ordinal);
            Assert.NotNull(page.QuerySelector($"#{id}-error"));
        }
        Assert.Equal("Tinworks", page.QuerySelector("#Shop-Name")!.GetAttribute("value"));
        Assert.Equal("", page.QuerySelector("#Password")!.GetAttribute("value"));
        Assert.False(await host.AskDbAsync(db => db.Shops.AnyAsync()));
        await client.PageAsync(link);
    }

    [Fact]
    public async Task A_new_start_replaces_the_link()
    {
        await using var host = new ShelfHost();
        var (first, second) = (await LinkAsync(host), await LinkAsync(host));
        using var old = await host.Visitor().GetAsync(new Uri(first, UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, old.StatusCode);
        await host.Visitor().PageAsync(second);
    }

    [Fact]
    public async Task Five_wrong_passwords_shut_the_door_and_no_answer_tells_more_than_another()
    {
        await using var host = new ShelfHost();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        var client = host.Visitor();
        var door = await client.PageAsync("/workbench/sign-in");
        var answers = new List<string>();
        foreach (var (email, password) in Tries())
        {
            var page = await client.PressAndStayAsync(door, "Sign in", ("Email", email), ("Password", password));
            answers.Add(page.QuerySelector(".problems")!.Words());
        }
        Assert.Single(answers.Distinct());

        static IEnumerable<(string, string)> Tries()
        {
            yield return ("nobody@post.example", Password);
            for (var i = 0; i < 5; i++)
                yield return (ShelfHost.MakerEmail, "wrong wrong wrong");
            yield return (ShelfHost.MakerEmail, Password);
        }
    }

    [Fact]
    public async Task The_licence_in_short_stands_on_its_page_and_beside_the_boxes_that_have_it()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Jam-jar Marimba", Audience.Free, "struck", "1.0.0"));
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r.SetProperty(x => x.LicenceText, "For music, not for resale.")));
        foreach (var line in new[] { "Sing & sell.", "Sing, don’t sell." })
        {
            await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/shop"), "Save the shop", ("Shop.LicenceInShort", line));
            Assert.Contains($"In short: {line} What holds is the text below. For music, not for resale.", (await host.Visitor().PageAsync("/licence")).QuerySelector("main")!.Words(), StringComparison.Ordinal);
            Assert.Contains($"{line} That is in short, in the maker’s words", (await host.Visitor().PageAsync("/boxes/jam-jar-marimba")).QuerySelector("main")!.Words(), StringComparison.Ordinal);
        }
        var tooLong = new string('x', InShort.MaxLength + 1);
        var page = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/shop"), "Save the shop", ("Shop.LicenceInShort", tooLong));
        Assert.Contains("Nothing was saved; what you typed is still here.", page.QuerySelector(".problems")!.Words(), StringComparison.Ordinal);
        Assert.Equal((tooLong, "Sing, don’t sell."), (page.QuerySelector("#Shop-LicenceInShort")!.TextContent.Trim(), await host.AskDbAsync(db => db.Shops.Select(s => s.LicenceInShort).SingleAsync())));
        page = await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/shop"), "Save the shop", ("Shop.Licence", "Sell."));
        Assert.Contains("read whether it still fits", page.QuerySelector(".notice.listen-again[role=status]")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_shop_is_edited_by_the_latest_page_only()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var (one, other) = (await maker.PageAsync("/workbench/shop"), await maker.PageAsync("/workbench/shop"));
        using var saved = await maker.PressAsync(one, "Save the shop", ("Shop.Name", "Salt"));
        Assert.Equal("/workbench/shop?done=shop", saved.Headers.Location?.OriginalString);
        using var late = await maker.PressAsync(other, "Save the shop", ("Shop.Name", "Marsh"));
        Assert.Equal(HttpStatusCode.Conflict, late.StatusCode);
        Assert.Equal("Salt", await host.AskDbAsync(db => db.Shops.Select(s => s.Name).SingleAsync()));
    }

    [Fact]
    public async Task In_another_currency_the_price_of_a_gigabyte_is_asked_anew()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        using var kept = await maker.PressAsync(await maker.PageAsync("/workbench/numbers/downloads"), "Keep it", ("price", "0.005"));
        Assert.Equal(5_000, await host.AskDbAsync(db => db.Shops.Select(s => s.GigabytePrice).SingleAsync()));
        using var same = await maker.PressAsync(await maker.PageAsync("/workbench/shop"), "Save the shop", ("Shop.Name", "Salt"));
        Assert.Equal(5_000, await host.AskDbAsync(db => db.Shops.Select(s => s.GigabytePrice).SingleAsync()));
        var page = await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/shop"), "Save the shop", ("Shop.Currency", "NOK"));
        Assert.Contains("say it anew under Numbers, Downloads", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Null(await host.AskDbAsync(db => db.Shops.Select(s => s.GigabytePrice).SingleAsync()));
        var downloads = await maker.PageAsync("/workbench/numbers/downloads");
        Assert.Equal("", downloads.QuerySelector("#price")!.GetAttribute("value"));
        Assert.Equal("For 1,000,000,000 bytes that go out, in NOK", downloads.QuerySelector("label[for=price]")!.Words());
        Assert.DoesNotContain("What that costs", downloads.Body!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_new_password_works_and_the_old_one_does_not()
    {
        await using var host = new ShelfHost();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        var maker = await host.MakerAsync();
        using (var changed = await maker.PressAsync(await maker.PageAsync("/workbench/shop"), "Change the password", ("password", "another spoonful of tin")))
            Assert.Equal("/workbench/shop?done=password", changed.Headers.Location?.OriginalString);
        await maker.PageAsync("/workbench/shop");
        var client = host.Visitor();
        var door = await client.PageAsync("/workbench/sign-in");
        using var old = await client.PressAsync(door, "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", Password));
        Assert.Equal(HttpStatusCode.BadRequest, old.StatusCode);
        using var fresh = await client.PressAsync(door, "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", "another spoonful of tin"));
        Assert.Equal("/workbench", fresh.Headers.Location?.OriginalString);
    }
}
