using System.IO.Compression;
using System.Net;
using System.Net.Http.Headers;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Setup;

/// <summary>The shelf's page is kept and compressed, and yet says what stands there now.</summary>
public sealed class ShelfPagesTests
{
    [Fact]
    public async Task What_is_published_or_taken_away_or_renamed_shows_with_the_next_request()
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        Assert.Contains("One box", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        await host.WithDbAsync(db => db.AddBoxAsync("Kettle Choir", Audience.Free, "blown", "1.0.0"));
        Assert.Contains("Two boxes", await visitor.GetStringAsync("/"), StringComparison.Ordinal);

        await EditAsync(host, "kettle-choir", l => l.Title = "Kettle Chorus");
        Assert.Contains("Kettle Chorus", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        await EditAsync(host, "kettle-choir", l => l.Decide(Audience.Members, TimeProvider.System.GetUtcNow().AddMilliseconds(-1)));
        Assert.Contains("Members 1", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        await host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync(r => r.Library.Slug == "kettle-choir");
            Assert.True(release.MoveTo(ReleaseState.Withdrawn, TimeProvider.System.GetUtcNow()));
            await db.SaveChangesAsync();
        });
        Assert.Contains("One box", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        await host.WithDbAsync(async db =>
        {
            var shop = await db.Shops.SingleAsync();
            (shop.Name, shop.Revision) = ("The Reed Room", shop.Revision + 1);
            await db.SaveChangesAsync();
        });
        Assert.Contains("The Reed Room", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("br, gzip", "br")]
    [InlineData("gzip;q=0.5, br;q=0", "gzip")]
    [InlineData(null, null)]
    public async Task It_comes_as_the_browser_reads_it_and_not_again_while_it_is_the_same(string? accepted, string? encoding)
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        using var first = await AskAsync(visitor, "/", accepted);
        Assert.Equal(encoding is null ? [] : [encoding], first.Content.Headers.ContentEncoding);
        Assert.Contains("Jam-jar Marimba", await TextAsync(first), StringComparison.Ordinal);
        Assert.Equal(("private, no-cache", "Accept-Encoding, Cookie"), (string.Join(", ", first.Headers.GetValues("Cache-Control").SelectMany(v => v.Split(", ")).OrderDescending()), string.Join(", ", first.Headers.Vary)));
        using var again = await AskAsync(visitor, "/", accepted, first.Headers.ETag);
        Assert.Equal((HttpStatusCode.NotModified, 0), (again.StatusCode, (await again.Content.ReadAsByteArrayAsync()).Length));
        using var other = await AskAsync(visitor, "/?show=members", accepted, first.Headers.ETag);
        Assert.Equal(HttpStatusCode.OK, other.StatusCode);
    }

    [Fact]
    public async Task Who_is_signed_in_gets_a_page_of_their_own_and_nobody_else_gets_it()
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        using var maker = await host.MakerAsync();
        Assert.DoesNotContain("Workbench", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        Assert.Contains("Workbench", await maker.GetStringAsync("/"), StringComparison.Ordinal);
        Assert.DoesNotContain("Workbench", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_choice_has_a_page_of_its_own_and_a_word_it_does_not_know_is_no_choice()
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        using var all = await AskAsync(visitor, "/?utm=1", "br");
        using var none = await AskAsync(visitor, "/?show=members", "br");
        using var plain = await AskAsync(visitor, "/", "br");
        Assert.Equal(all.Headers.ETag, plain.Headers.ETag);
        Assert.NotEqual(none.Headers.ETag, plain.Headers.ETag);
        Assert.Contains("Nothing found", await TextAsync(none), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_word_that_anybody_may_write_is_made_each_time_and_not_kept()
    {
        var clock = new FakeTimeProvider(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
        await using var host = new ShelfHost { Clock = clock };
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Jam-jar Marimba", Audience.Free, "struck", "1.0.0"));
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r.SetProperty(x => x.PublishedAt, clock.GetUtcNow().AddDays(-35).AddSeconds(30))));
        using var visitor = host.Visitor();
        foreach (var address in new[] { "/?sound=struck", "/?opens=Pondskater" })
            Assert.Contains("New on", await visitor.GetStringAsync(address), StringComparison.Ordinal);
        // A kept page would be the same for a minute.
        clock.Advance(TimeSpan.FromSeconds(50));
        foreach (var address in new[] { "/?sound=struck", "/?opens=Pondskater" })
            Assert.DoesNotContain("New on", await visitor.GetStringAsync(address), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_search_in_vain_is_heard_of_also_when_only_the_head_is_asked_for_and_a_kept_page_counts_where_people_come_from()
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        visitor.DefaultRequestHeaders.UserAgent.ParseAdd("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0");
        using var asked = new HttpRequestMessage(HttpMethod.Head, "/?find=celesta");
        using var answer = await visitor.SendAsync(asked);
        Assert.Equal((HttpStatusCode.OK, 0), (answer.StatusCode, (await answer.Content.ReadAsByteArrayAsync()).Length));
        for (var i = 0; i < 3; i++)
        {
            using var come = new HttpRequestMessage(HttpMethod.Get, "/") { Headers = { Referrer = new Uri("https://reeds.example/") } };
            using var page = await visitor.SendAsync(come);
        }
        await host.RunAsync<KeepSightings, int>(keep => keep.RunAsync(CancellationToken.None));
        Assert.Equal(["celesta"], await host.AskDbAsync(db => db.Sightings.Where(s => s.Kind == SightingKind.Search).Select(s => s.Word).ToListAsync()));
        Assert.Equal([3], await host.AskDbAsync(db => db.Sightings.Where(s => s.Kind == SightingKind.Referrer).Select(s => s.Times).ToListAsync()));
    }

    [Fact]
    public async Task It_is_made_anew_each_minute_because_days_pass()
    {
        var clock = new FakeTimeProvider(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
        await using var host = new ShelfHost { Clock = clock };
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Jam-jar Marimba", Audience.Free, "struck", "1.0.0"));
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r.SetProperty(x => x.PublishedAt, clock.GetUtcNow().AddDays(-35).AddSeconds(30))));
        using var visitor = host.Visitor();
        Assert.Contains("New on", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        clock.Advance(TimeSpan.FromSeconds(59));
        Assert.Contains("New on", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
        clock.Advance(TimeSpan.FromSeconds(2));
        Assert.DoesNotContain("New on", await visitor.GetStringAsync("/"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_pages_load_is_compressed_and_pages_with_secrets_are_not()
    {
        await using var host = await FilledAsync();
        using var visitor = host.Visitor();
        foreach (var address in new[] { "/css/shelf.css", "/js/shelf.js", "/ruler-lit.svg" })
        {
            using var file = await AskAsync(visitor, address, "br");
            Assert.Equal(["br"], file.Content.Headers.ContentEncoding);
        }
        foreach (var address in new[] { "/sign-in", "/boxes/jam-jar-marimba", "/vendor/anybody/anybody.woff2" })
        {
            using var page = await AskAsync(visitor, address, "br, gzip");
            Assert.Equal(HttpStatusCode.OK, page.StatusCode);
            Assert.Empty(page.Content.Headers.ContentEncoding);
        }
    }

    private static async Task<ShelfHost> FilledAsync()
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Jam-jar Marimba", Audience.Free, "struck", "1.0.0"));
        return host;
    }

    private static Task EditAsync(ShelfHost host, string slug, Action<Library> edit) => host.WithDbAsync(async db =>
    {
        var library = await db.Libraries.Include(l => l.Audiences).SingleAsync(l => l.Slug == slug);
        var revision = library.Revision;
        edit(library);
        library.Revision = revision + 1;
        await db.SaveChangesAsync();
    });

    private static async Task<HttpResponseMessage> AskAsync(HttpClient client, string address, string? accepted, EntityTagHeaderValue? known = null)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, address);
        if (accepted is not null)
            request.Headers.TryAddWithoutValidation("Accept-Encoding", accepted);
        if (known is not null)
            request.Headers.IfNoneMatch.Add(known);
        return await client.SendAsync(request);
    }

    private static async Task<string> TextAsync(HttpResponseMessage answer)
    {
        var body = await answer.Content.ReadAsStreamAsync();
        using var reader = new StreamReader(answer.Content.Headers.ContentEncoding.SingleOrDefault() switch
        {
            "br" => new BrotliStream(body, CompressionMode.Decompress), "gzip" => new GZipStream(body, CompressionMode.Decompress), _ => body,
        }, Encoding.UTF8);
        return await reader.ReadToEndAsync();
    }
}
