using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class ShopTextTests
{
    [Theory]
    [InlineData("/help", "Help")]
    [InlineData("/terms", "Terms")]
    [InlineData("/privacy", "Privacy")]
    [InlineData("/licence", "Licence for the recordings")]
    [InlineData("/write", "Write to the maker")]
    public async Task Every_page_of_the_footer_is_there_even_before_the_shelf_is_claimed(string address, string heading)
    {
        await using var host = new ShelfHost();
        var page = await host.Visitor().PageAsync(address);
        Assert.Equal(heading, page.QuerySelector("h1")!.TextContent);
        Assert.Equal($"{heading} · LibraryShelf", page.Title);
        Assert.Equal(["Help", "Terms", "Privacy", "Licence for the recordings", "Write to the maker", "Runs on LibraryShelf"],
            page.QuerySelectorAll("footer li").Select(li => li.Words()));
    }

    [Fact]
    public async Task The_makers_words_are_shown_as_she_wrote_them()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s
            .SetProperty(x => x.Terms, "# Yours\n\nUse them in *music*.<script>x</script>")
            .SetProperty(x => x.PostalAddress, "3 Sluice Lane\nSaltmarsh")));
        var terms = await host.Visitor().PageAsync("/terms");
        Assert.Equal("Yours", terms.QuerySelector("main h2")!.TextContent);
        Assert.Equal("music", terms.QuerySelector("main em")!.TextContent);
        Assert.Empty(terms.QuerySelectorAll("main script"));
        var write = await host.Visitor().PageAsync("/write");
        Assert.Equal($"mailto:{ShelfHost.MakerEmail}", write.QuerySelector("main a")!.GetAttribute("href"));
        Assert.Contains("3 Sluice Lane", write.Body!.TextContent, StringComparison.Ordinal);
        Assert.Contains("Found and mended household objects.", write.QuerySelector("footer")!.TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Every_page_forbids_what_it_does_not_need()
    {
        await using var host = new ShelfHost();
        using var answer = await host.Visitor().GetAsync(new Uri("/help", UriKind.Relative));
        var policy = answer.Headers.GetValues("Content-Security-Policy").Single();
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
    }

    [Theory]
    [InlineData("/css/shelf.css", "text/css")]
    [InlineData("/vendor/anybody/anybody.woff2", "font/woff2")]
    [InlineData("/vendor/anybody/OFL.txt", "text/plain")]
    [InlineData("/vendor/atkinson/OFL.txt", "text/plain")]
    [InlineData("/vendor/tus/tus.min.js", "text/javascript")]
    [InlineData("/vendor/tus/LICENSE.txt", "text/plain")]
    [InlineData("/vendor/uplot/uPlot.iife.min.js", "text/javascript")]
    [InlineData("/vendor/uplot/uPlot.min.css", "text/css")]
    [InlineData("/vendor/uplot/LICENSE.txt", "text/plain")]
    public async Task What_pages_load_is_served_from_home(string address, string type)
    {
        await using var host = new ShelfHost();
        using var answer = await host.Visitor().GetAsync(new Uri(address, UriKind.Relative));
        Assert.True(answer.IsSuccessStatusCode, $"{address}: {(int)answer.StatusCode}");
        Assert.Equal(type, answer.Content.Headers.ContentType!.MediaType);
    }
}
