using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class IndexTests
{
    [Fact]
    public async Task An_empty_shelf_says_so()
    {
        await using var host = new ShelfHost();
        var page = await host.Visitor().PageAsync("/");
        Assert.Contains("Nothing on the shelf yet.", page.Body!.TextContent, StringComparison.Ordinal);
        Assert.Empty(page.QuerySelectorAll("table"));
        Assert.Empty(page.QuerySelectorAll("a[href^='/workbench']"));
    }

    [Fact]
    public async Task The_list_shows_every_published_box_with_its_latest_version()
    {
        await using var host = await FilledAsync();
        var page = await host.Visitor().PageAsync("/");
        Assert.Equal("Three boxes of recordings, played note by note.", page.QuerySelector("h1")!.Words());
        // Newest latest version first: the tin's 1.2.0 came two days after the others' first.
        Assert.Equal(["Biscuit Tin", "Kettle Choir", "Jam-jar Marimba"], Titles(page));
        var tin = Row(page, "Biscuit Tin");
        Assert.Contains("1.10.0", tin.Words(), StringComparison.Ordinal);
        Assert.Contains("1.9 GB", tin.Words(), StringComparison.Ordinal);
        Assert.Contains("Members", tin.Words(), StringComparison.Ordinal);
        Assert.Equal("C4 to C6", tin.QuerySelector("svg[role=img]")!.GetAttribute("aria-label"));
        Assert.Equal("/boxes/biscuit-tin", tin.QuerySelector("a")!.GetAttribute("href"));
        Assert.Equal("descending", Header(page, "Published").GetAttribute("aria-sort"));
        Assert.Null(Header(page, "Keys").GetAttribute("aria-sort"));
    }

    [Theory]
    [InlineData("/?show=free", new[] { "Kettle Choir", "Jam-jar Marimba" })]
    [InlineData("/?show=members", new[] { "Biscuit Tin" })]
    [InlineData("/?find=BLOWN", new[] { "Kettle Choir" })]
    [InlineData("/?find=jar+struck", new[] { "Jam-jar Marimba" })]
    [InlineData("/?sound=Struck", new[] { "Jam-jar Marimba" })]
    [InlineData("/?keys=17-25&size=2000", new[] { "Biscuit Tin", "Kettle Choir", "Jam-jar Marimba" })]
    [InlineData("/?keys=26-37", new string[0])]
    [InlineData("/?size=500", new string[0])]
    [InlineData("/?keys=25", new[] { "Biscuit Tin", "Kettle Choir", "Jam-jar Marimba" })]
    [InlineData("/?order=library", new[] { "Biscuit Tin", "Jam-jar Marimba", "Kettle Choir" })]
    [InlineData("/?order=-library", new[] { "Kettle Choir", "Jam-jar Marimba", "Biscuit Tin" })]
    [InlineData("/?order=published", new[] { "Jam-jar Marimba", "Kettle Choir", "Biscuit Tin" })]
    public async Task The_address_chooses_and_sorts(string address, string[] titles)
    {
        await using var host = await FilledAsync();
        Assert.Equal(titles, Titles(await host.Visitor().PageAsync(address)));
    }

    [Fact]
    public async Task The_boards_show_the_same_boxes_as_the_list_newest_first_and_leave_out_what_it_leaves_out()
    {
        await using var host = await FilledAsync();
        var page = await host.Visitor().PageAsync("/?show=free&order=library");
        Assert.Equal(["Biscuit Tin", "Kettle Choir", "Jam-jar Marimba"], page.QuerySelectorAll(".boxes b").Select(b => b.Words()));
        Assert.Equal(["Kettle Choir", "Jam-jar Marimba"], page.QuerySelectorAll(".boxes li:not([hidden]) b").Select(b => b.Words()));
        Assert.Equal(["Kettle Choir", "Jam-jar Marimba"], page.QuerySelectorAll(".boxes li:not([hidden]) .fact .name").Select(n => n.Words()));
        var tin = page.QuerySelectorAll(".boxes li > a").Single(a => a.QuerySelector("b")!.Words() == "Biscuit Tin");
        Assert.Equal(("/boxes/biscuit-tin", "Biscuit Tin, for members"), (tin.GetAttribute("href"), tin.Words()));
        Assert.Equal("fact lo60 hi84", page.QuerySelector(".fact")!.ClassName);
    }

    [Fact]
    public async Task Boxes_are_found_by_the_player_somebody_has()
    {
        await using var host = await FilledAsync();
        await host.WithDbAsync(async db =>
        {
            foreach (var (slug, lowest) in new[] { ("kettle-choir", "1.9"), ("biscuit-tin", "1.10") })
                foreach (var release in await db.Releases.Include(r => r.Players).Where(r => r.Library.Slug == slug).ToListAsync())
                    release.Players.Add(new ReleasePlayer { Name = "Mudlark", LowestVersion = lowest });
            await db.SaveChangesAsync();
        });
        Assert.Equal(["Kettle Choir"], Titles(await host.Visitor().PageAsync("/?opens=Mudlark+1.9")));
        Assert.Equal(["Biscuit Tin", "Kettle Choir"], Titles(await host.Visitor().PageAsync("/?opens=mudlark+1.10")));
        Assert.Equal(["Biscuit Tin", "Kettle Choir"], Titles(await host.Visitor().PageAsync("/?opens=Mudlark")));
        var choices = (await host.Visitor().PageAsync("/")).QuerySelectorAll("select[name=opens] option").Select(o => o.Words()).Where(w => w.StartsWith("Mudlark", StringComparison.Ordinal));
        Assert.Equal(["Mudlark 1.10", "Mudlark 1.9"], choices);
    }

    [Fact]
    public async Task Nothing_found_says_what_was_sought_and_what_might_be()
    {
        await using var host = await FilledAsync();
        var page = await host.Visitor().PageAsync("/?find=%3Ccelesta%3E");
        var words = page.QuerySelector("#rows")!.Words();
        Assert.Contains("No box matches “<celesta>”.", words, StringComparison.Ordinal);
        Assert.Contains("Try a sound, such as blown or clicks, or show all 3.", words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_not_published_or_not_decided_does_not_stand_there()
    {
        await using var host = await FilledAsync();
        await host.WithDbAsync(async db =>
        {
            await db.AddBoxAsync("Undecided Harp", audience: null, "plucked", "1.0.0");
            await db.AddBoxAsync("Draft Drum", Audience.Free, "struck");
        });
        var page = await host.Visitor().PageAsync("/");
        Assert.Equal(3, Titles(page).Count);
    }

    private static async Task<ShelfHost> FilledAsync()
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            await db.AddBoxAsync("Jam-jar Marimba", Audience.Free, "struck", "1.0.0");
            await db.AddBoxAsync("Kettle Choir", Audience.Free, "blown", "0.9.0", "1.0.0");
            // 1.10.0 is above 1.9.0 (SemVer 2.0.0 §11: numeric, not as text).
            await db.AddBoxAsync("Biscuit Tin", Audience.Members, "clicks", "1.0.0", "1.9.0", "1.10.0");
        });
        return host;
    }

    private static List<string> Titles(IDocument page) => [.. page.QuerySelectorAll("tbody tr:not([hidden]) th a").Select(a => a.Words())];

    private static IElement Row(IDocument page, string title) => page.QuerySelectorAll("tbody tr").Single(r => r.QuerySelector("th a")!.Words() == title);

    private static IElement Header(IDocument page, string words) => page.QuerySelectorAll("thead th").Single(h => h.Words() == words);
}
