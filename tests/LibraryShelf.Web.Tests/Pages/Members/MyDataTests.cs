using System.IO.Compression;
using System.Net;
using System.Text;
using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Pages.Members;
using LibraryShelf.Web.Tests.Pages.Shelf;

namespace LibraryShelf.Web.Tests.Pages.Members;

public sealed class MyDataTests
{
    private const string Wren = "wren@post.example";

    private static readonly DateTimeOffset Noon = new(2026, 11, 25, 14, 0, 0, 5, TimeSpan.FromHours(2));

    [Fact]
    public async Task The_page_counts_what_the_files_hold_and_no_cache_keeps_them()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Tin Roof", Audience.Free, "clicks", "1.0.0"));
        await host.RunAsync<GrantMembership, GrantOutcome>(grant => grant.RunAsync(Wren, "=a note", null, null, default));
        var client = await host.SignedInAsync(Wren);
        using (await client.PressAsync(await client.PageAsync("/mine"), "Download Tin Roof 1.0.0")) { }
        var page = await client.PageAsync("/mine/data");
        var counts = page.QuerySelectorAll("tbody tr").ToDictionary(r => r.QuerySelector("th")!.Words(), r => r.QuerySelector(".number")!.Words(), StringComparer.Ordinal);
        Assert.Equal(("1", "1", "1"), (counts["Downloads"], counts["Memberships given to you"], counts["Mails written to you"]));

        using var json = await client.GetAsync(new Uri("/mine/data.json", UriKind.Relative));
        Assert.Equal((HttpStatusCode.OK, true), (json.StatusCode, json.Headers.CacheControl!.NoStore));
        Assert.Equal("attachment", json.Content.Headers.ContentDisposition!.DispositionType);
        using var read = JsonDocument.Parse(await json.Content.ReadAsStringAsync());
        Assert.Equal(Wren, read.RootElement.GetProperty("address").GetString());
        var download = read.RootElement.GetProperty("downloads").EnumerateArray().Single();
        Assert.Equal(("Tin Roof", "1.0.0"), (download.GetProperty("box").GetString(), download.GetProperty("version").GetString()));

        using var zip = await client.GetAsync(new Uri("/mine/data.zip", UriKind.Relative));
        Assert.True(zip.Headers.CacheControl!.NoStore);
        await using var archive = new ZipArchive(await zip.Content.ReadAsStreamAsync());
        Assert.Equal(24, archive.Entries.Count);
        using var given = new StreamReader(await archive.GetEntry("memberships-given.csv")!.OpenAsync(), Encoding.UTF8);
        var lines = (await given.ReadToEndAsync()).Split("\r\n");
        Assert.Equal("from,until,note", lines[0]);
        // A spreadsheet must not reckon with a cell: OWASP, CSV Injection.
        Assert.EndsWith(",'=a note", lines[1], StringComparison.Ordinal);
    }

    [Fact]
    public void Cells_are_text_figures_and_instants_that_every_program_reads()
    {
        var data = new MyData(Wren, Noon, [new("things", "Things", "", ["a", "b", "c", "d", "e"], [["x, “y” \"z\"", -5L, true, Noon, null], ["-1+1", 0, false, null, ""]])]);
        // RFC 4180 §2.6 and 2.7; ISO 8601 in UTC.
        Assert.Equal("a,b,c,d,e\r\n\"x, “y” \"\"z\"\"\",-5,true,2026-11-25T12:00:00.005Z,\r\n'-1+1,0,false,,\r\n", MyDataFiles.Csv(data.Tables[0]));
        using var json = JsonDocument.Parse(MyDataFiles.Json(data));
        Assert.Equal("""[{"a":"x, “y” \"z\"","b":-5,"c":true,"d":"2026-11-25T12:00:00.005Z","e":null},{"a":"-1+1","b":0,"c":false,"d":null,"e":""}]""",
            string.Concat(json.RootElement.GetProperty("things").GetRawText().Split('\n').Select(l => l.Trim().Replace("\": ", "\":", StringComparison.Ordinal))));
    }
}
