using System.Text.RegularExpressions;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Web.Tests.Doors;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

/// <summary>How much of the public pages travels. Bytes as a browser gets them, in thousands; the limits are the product's own.</summary>
public sealed partial class WeightTests
{
    private static readonly string[] PublicPages =
        ["/", "/boxes/mended-kettle", "/boxes/mended-kettle/which-version", "/boxes/mended-kettle/follow", "/boxes/mended-kettle/something-wrong", "/sign-in", "/help", "/terms", "/privacy", "/licence", "/write", "/join"];

    [Fact]
    public async Task A_shelf_of_five_hundred_boxes_comes_in_sixty_kilobytes_of_Brotli_or_a_hundred_of_gzip()
    {
        await using var host = await FilledAsync(500);
        using var visitor = host.Visitor();
        foreach (var encoding in new[] { "br", "gzip" })
        {
            var (body, named) = await FetchAsync(visitor, "/", encoding);
            Assert.Equal(encoding, named);
            Assert.InRange(body, 10_000, encoding == "br" ? 60_000 : 100_000);
        }
        var page = await visitor.PageAsync("/");
        Assert.Equal(500, page.QuerySelectorAll(".boxes li").Length);
        Assert.Equal(500, page.QuerySelectorAll("#shelf-list tbody tr").Length);
        Assert.All(page.QuerySelectorAll(".board"), board => Assert.InRange(board.QuerySelectorAll("li").Length, 1, 16));
    }

    [Fact]
    public async Task No_public_page_loads_more_than_forty_kilobytes_of_script_and_none_more_than_eighty_of_fonts()
    {
        await using var host = await FilledAsync(3);
        using var visitor = host.Visitor();
        var most = 0L;
        foreach (var address in PublicPages)
        {
            var loaded = new HashSet<string>(StringComparer.Ordinal);
            var script = 0L;
            foreach (Match file in Script().Matches(await visitor.GetStringAsync(address)))
                script += await WithImportsAsync(visitor, file.Groups[1].Value, loaded);
            // A box that can be heard loads this too; what plays, it asks for when somebody does.
            if (address == "/boxes/mended-kettle")
                script += await WithImportsAsync(visitor, "/js/listen.js", loaded);
            Assert.DoesNotContain("/js/keyboard.js", loaded);
            Assert.True(script <= 40_000, $"{address} loads {script} bytes of script: {string.Join(", ", loaded)}");
            most = Math.Max(most, script);
        }

        Assert.True(most > 5_000, "No page was found to load what tells a version, which some do.");
        var fonts = Font().Matches(await visitor.GetStringAsync("/css/shelf.css"));
        Assert.Equal(5, fonts.Count);
        var all = 0L;
        foreach (Match font in fonts)
            all += (await FetchAsync(visitor, font.Groups[1].Value, "br")).Bytes;
        Assert.InRange(all, 40_000, 80_000);
    }

    private static async Task<ShelfHost> FilledAsync(int boxes)
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(db => ManyBoxes.AddAsync(db, boxes, TimeProvider.System.GetUtcNow().AddHours(-1)));
        return host;
    }

    /// <summary>With all that it imports before it runs, each once.</summary>
    private static async Task<long> WithImportsAsync(HttpClient visitor, string address, HashSet<string> loaded)
    {
        var path = address.Split('?')[0];
        if (!loaded.Add(path))
            return 0;
        var bytes = (await FetchAsync(visitor, address, "br")).Bytes;
        foreach (Match import in Import().Matches(await visitor.GetStringAsync(path)))
            bytes += await WithImportsAsync(visitor, new Uri(new Uri("http://localhost" + path), import.Groups[1].Value).AbsolutePath, loaded);
        return bytes;
    }

    private static async Task<(long Bytes, string? Encoding)> FetchAsync(HttpClient visitor, string address, string encoding)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, address) { Headers = { { "Accept-Encoding", encoding } } };
        using var answer = await visitor.SendAsync(request);
        answer.EnsureSuccessStatusCode();
        return ((await answer.Content.ReadAsByteArrayAsync()).Length, answer.Content.Headers.ContentEncoding.SingleOrDefault());
    }

    [GeneratedRegex("""<script[^>]* src="([^"]+)""", RegexOptions.NonBacktracking)]
    private static partial Regex Script();

    [GeneratedRegex("""^\s*(?:import|export)[^("']*["'](\.[^"']+)["']""", RegexOptions.Multiline | RegexOptions.NonBacktracking)]
    private static partial Regex Import();

    [GeneratedRegex("""url\("([^"]+\.woff2)"\)""", RegexOptions.NonBacktracking)]
    private static partial Regex Font();
}
