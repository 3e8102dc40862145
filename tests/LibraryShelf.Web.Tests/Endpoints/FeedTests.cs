using System.Diagnostics;
using System.Net;
using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class FeedTests
{
    private const string Hostile = "<Tin> & \"]]>\u0001 </script>";

    /// <summary>Reads a feed with feedparser, which nobody here wrote; Debian installs it for Debian's own Python.</summary>
    private const string Reader = """
        import sys, json, feedparser
        f = feedparser.parse(sys.stdin.buffer.read())
        print(json.dumps({"bozo": int(f.bozo), "id": f.feed.id, "version": f.version, "author": f.feed.author,
            "entries": [{"id": e.id, "title": e.title, "summary": e.summary, "content": e.content[0].value, "link": e.link} for e in f.entries]}))
        """;

    [Fact]
    public async Task An_independent_reader_understands_it_and_ids_outlive_another_address()
    {
        await using var host = await StockAsync(new() { ["Shelf:PublicUrl"] = "https://one.example" });
        var first = Read(await host.Visitor().GetByteArrayAsync("/feed.atom"));
        Assert.Equal((0, "atom10", "Saltmarsh Sound Room"),
            (first.GetProperty("bozo").GetInt32(), first.GetProperty("version").GetString(), first.GetProperty("author").GetString()));
        var entries = first.GetProperty("entries").EnumerateArray().ToList();
        Assert.Equal(3, entries.Count);
        Assert.Equal(3, entries.Select(e => e.GetProperty("id").GetString()).Distinct().Count());
        Assert.All(entries, e => Assert.StartsWith("urn:uuid:", e.GetProperty("id").GetString(), StringComparison.Ordinal));
        Assert.All(entries, e => Assert.StartsWith("https://one.example/boxes/", e.GetProperty("link").GetString(), StringComparison.Ordinal));
        Assert.Contains(entries, e => e.GetProperty("summary").GetString()!.Contains("It hums.", StringComparison.Ordinal));
        Assert.Contains(entries, e => e.GetProperty("content").GetString()!.Contains("Notes of 1.1.0.", StringComparison.Ordinal));
        var box = Read(await host.Visitor().GetByteArrayAsync("/boxes/hostile/feed.atom"));
        Assert.Equal(0, box.GetProperty("bozo").GetInt32());

        // By another name, not sure of: no Host header is told on.
        await using var elsewhere = await StockAsync([]);
        using var request = new HttpRequestMessage(HttpMethod.Get, "/feed.atom") { Headers = { Host = "evil.example" } };
        using var answer = await elsewhere.Visitor().SendAsync(request);
        Assert.DoesNotContain("evil.example", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        // Its address is another one, its ids are those of the same shelf at its first address.
        var moved = Read(await answer.Content.ReadAsByteArrayAsync());
        Assert.Equal(Ids(first), Ids(moved));
        using var sitemap = new HttpRequestMessage(HttpMethod.Get, "/sitemap.xml") { Headers = { Host = "evil.example" } };
        using var refused = await elsewhere.Visitor().SendAsync(sitemap);
        Assert.Equal(HttpStatusCode.NotFound, refused.StatusCode);
    }

    private static List<string?> Ids(JsonElement feed) =>
        [feed.GetProperty("id").GetString(), .. feed.GetProperty("entries").EnumerateArray().Select(e => e.GetProperty("id").GetString()).Order(StringComparer.Ordinal)];

    /// <summary>The schema of RFC 4287, Appendix B, by a validator nobody here wrote (Debian's jing).</summary>
    [Fact]
    public async Task The_feeds_hold_to_the_schema_of_the_standard()
    {
        await using var host = await StockAsync(new() { ["Shelf:PublicUrl"] = "https://one.example" });
        foreach (var path in new[] { "/feed.atom", "/boxes/hostile/feed.atom" })
        {
            var feed = await host.Visitor().GetStringAsync(path);
            Assert.Equal("", await JudgeAsync(feed));
            Assert.Contains("updated", await JudgeAsync(feed.Replace("<updated>2", "<updated>the day of 2", StringComparison.Ordinal)), StringComparison.Ordinal);
        }
    }

    /// <summary>More versions than a feed holds: the oldest, once withdrawn, is the newest news.</summary>
    [Fact]
    public async Task An_old_version_that_is_withdrawn_leads_the_feed_with_its_reason_and_the_day_is_true()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var numbers = Enumerable.Range(0, ReadFeed.Most + 5).Select(i => $"1.{i}.0").ToArray();
        await host.WithDbAsync(db => db.AddBoxAsync("many", Audience.Free, "struck", numbers));
        using var before = await host.Visitor().GetAsync("/boxes/many/feed.atom");
        Assert.DoesNotContain("1.0.0", await before.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        // Whole seconds, as the header has them.
        var day = DateTimeOffset.FromUnixTimeSeconds(before.Content.Headers.LastModified!.Value.ToUnixTimeSeconds() + 86_400);
        await host.WithDbAsync(async db =>
        {
            var oldest = await db.Releases.SingleAsync(r => r.Number == "1.0.0");
            oldest.MoveTo(ReleaseState.Withdrawn, day);
            oldest.WithdrawnBecause = "It hums.";
            await db.SaveChangesAsync();
        });
        foreach (var path in new[] { "/boxes/many/feed.atom", "/feed.atom" })
        {
            using var request = new HttpRequestMessage(HttpMethod.Get, path);
            request.Headers.IfNoneMatch.Add(before.Headers.ETag!);
            using var after = await host.Visitor().SendAsync(request);
            Assert.Equal((HttpStatusCode.OK, day), (after.StatusCode, after.Content.Headers.LastModified));
            var feed = System.Xml.Linq.XDocument.Parse(await after.Content.ReadAsStringAsync()).Root!;
            var atom = feed.Name.Namespace;
            Assert.Equal(day, (DateTimeOffset)feed.Element(atom + "updated")!);
            var first = feed.Element(atom + "entry")!;
            Assert.Equal(day, (DateTimeOffset)first.Element(atom + "updated")!);
            Assert.EndsWith("1.0.0 (withdrawn)", first.Element(atom + "title")!.Value, StringComparison.Ordinal);
            Assert.Contains("It hums.", first.Element(atom + "summary")!.Value, StringComparison.Ordinal);
            Assert.Equal(ReadFeed.Most, feed.Elements(atom + "entry").Count());
        }
        using var since = new HttpRequestMessage(HttpMethod.Get, "/feed.atom") { Headers = { IfModifiedSince = day } };
        using var unchanged = await host.Visitor().SendAsync(since);
        Assert.Equal(HttpStatusCode.NotModified, unchanged.StatusCode);
        // Another title is another feed, though no news.
        await host.WithDbAsync(db => db.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.Title, "Renamed").SetProperty(l => l.WordsChangedAt, day.AddDays(1))));
        using var asked = new HttpRequestMessage(HttpMethod.Get, "/feed.atom") { Headers = { IfModifiedSince = day } };
        using var renamed = await host.Visitor().SendAsync(asked);
        Assert.Equal((HttpStatusCode.OK, day.AddDays(1)), (renamed.StatusCode, renamed.Content.Headers.LastModified));
    }

    private static async Task<string> JudgeAsync(string feed)
    {
        var file = Path.GetTempFileName();
        try
        {
            await File.WriteAllTextAsync(file, feed);
            using var jing = Process.Start(new ProcessStartInfo("jing", ["-c", Path.Combine(AppContext.BaseDirectory, "Endpoints", "Atom", "atom.rnc"), file]) { UseShellExecute = false, RedirectStandardOutput = true })!;
            var said = await jing.StandardOutput.ReadToEndAsync();
            await jing.WaitForExitAsync();
            Assert.Equal(said.Length == 0, jing.ExitCode == 0);
            return said;
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Fact]
    public async Task What_is_unchanged_is_not_sent_again()
    {
        await using var host = await StockAsync([]);
        foreach (var path in new[] { "/feed.atom", "/sitemap.xml", "/boxes/hostile/versions.json" })
        {
            using var first = await host.Visitor().GetAsync(path);
            Assert.Equal(HttpStatusCode.OK, first.StatusCode);
            using var again = new HttpRequestMessage(HttpMethod.Get, path);
            again.Headers.IfNoneMatch.Add(first.Headers.ETag!);
            using var answer = await host.Visitor().SendAsync(again);
            Assert.Equal(HttpStatusCode.NotModified, answer.StatusCode);
        }
    }

    [Fact]
    public async Task A_title_cannot_end_the_linked_data()
    {
        await using var host = await StockAsync([]);
        foreach (var path in new[] { "/", "/boxes/hostile" })
        {
            var block = (await host.Visitor().PageAsync(path)).QuerySelector("script[type='application/ld+json']")!.TextContent;
            using var data = JsonDocument.Parse(block);
            Assert.Contains(Hostile, path == "/" ? data.RootElement.GetProperty("hasPart").EnumerateArray().Select(p => p.GetProperty("name").GetString())
                : [data.RootElement.GetProperty("name").GetString()]);
        }
    }

    private static async Task<ShelfHost> StockAsync(Dictionary<string, string> settings)
    {
        var host = new ShelfHost { Settings = settings };
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = await db.AddBoxAsync("hostile", Audience.Members, "struck", "1.0.0", "1.1.0", "1.2.0");
            library.Title = Hostile;
            var release = await db.Releases.SingleAsync(r => r.Number == "1.0.0");
            release.MoveTo(ReleaseState.Withdrawn, ShelfRows.FirstDay.AddDays(9));
            release.WithdrawnBecause = "It hums.";
            await db.SaveChangesAsync();
        });
        return host;
    }

    private static JsonElement Read(byte[] feed)
    {
        using var python = Process.Start(new ProcessStartInfo("/usr/bin/python3", ["-c", Reader]) { UseShellExecute = false, RedirectStandardInput = true, RedirectStandardOutput = true })!;
        python.StandardInput.BaseStream.Write(feed);
        python.StandardInput.Close();
        var said = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        using var json = JsonDocument.Parse(said);
        return json.RootElement.Clone();
    }
}
