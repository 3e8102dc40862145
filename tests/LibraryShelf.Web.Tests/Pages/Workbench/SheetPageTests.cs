using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Text.Json;
using AngleSharp.Dom;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>The check sheet of a real check: five keys of two takes, one of them clipped, a gap, and a name that looks like a formula.</summary>
public sealed class SheetPageTests
{
    private const int Rate = 44_100;

    [Fact]
    public async Task The_picture_shows_the_clipped_key_and_the_gap_and_the_table_says_it_again()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        var page = await maker.PageAsync($"/workbench/releases/{id}/sheet");
        var picture = page.QuerySelector("svg[role=img]")!;
        Assert.Contains("C4 (clipped)", picture.QuerySelector("desc")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("No recordings: D4", picture.QuerySelector("desc")!.TextContent, StringComparison.Ordinal);
        Assert.Equal("sheet-table-caption", picture.GetAttribute("aria-describedby"));
        Assert.Equal("caption", page.GetElementById("sheet-table-caption")!.LocalName);
        Assert.NotNull(picture.QuerySelector("rect.missing"));
        Assert.NotNull(picture.QuerySelector("path.mark-must-fix"));

        var first = page.QuerySelectorAll(".sheet-table tbody")[0];
        Assert.Equal("Must fix", first.QuerySelector(".verdict")!.Words());
        Assert.StartsWith("C4, take 1", first.QuerySelector("th")!.Words(), StringComparison.Ordinal);
        Assert.Equal("0.0", first.QuerySelector(".number b.fails")!.Words());
        Assert.Contains("Start with your volume low", page.QuerySelector(".caution")!.Words(), StringComparison.Ordinal);
        Assert.All(page.QuerySelectorAll("audio"), a => Assert.Equal("none", a.GetAttribute("preload")));
    }

    [Fact]
    public async Task The_table_is_filtered_and_sorted_by_its_address()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        var page = await maker.PageAsync($"/workbench/releases/{id}/sheet?find=E4&sort=-peak");
        Assert.Equal(["E4, take 1", "E4, take 2"], Names(page).Order(StringComparer.Ordinal));
        Assert.Equal("descending", page.QuerySelectorAll("th[aria-sort]").Single().GetAttribute("aria-sort"));
        Assert.Contains("sort=peak", page.QuerySelector("th[aria-sort] a")!.GetAttribute("href"), StringComparison.Ordinal);

        page = await maker.PageAsync($"/workbench/releases/{id}/sheet?all=true&sort=peak");
        var peaks = page.QuerySelectorAll(".sheet-table tbody td[data-label='Peak, dB']").Select(td => double.Parse(td.Words().Replace('−', '-'), CultureInfo.InvariantCulture)).ToList();
        Assert.Equal(9, peaks.Count);
        Assert.Equal(peaks.Order(), peaks);

        page = await maker.PageAsync($"/workbench/releases/{id}/sheet?verdict=MustFix");
        Assert.Equal(["C4, take 1"], Names(page));
        // Nonsense in the address is no fault.
        await maker.PageAsync($"/workbench/releases/{id}/sheet?verdict=Worst&sort=-&at=-3&way=none&mic=none&find=%00");
    }

    [Fact]
    public async Task The_table_as_a_file_is_safe_for_spreadsheets()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        using var answer = await maker.GetAsync(new Uri($"/workbench/releases/{id}/sheet.csv", UriKind.Relative));
        Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
        Assert.Equal("kettle-1.0.0-sheet.csv", answer.Content.Headers.ContentDisposition!.FileName);
        var lines = (await answer.Content.ReadAsStringAsync()).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        var columns = lines[0].Split(',').ToList();
        Assert.StartsWith("Must fix,\"C4, take 1\",", lines[1], StringComparison.Ordinal);
        var formula = lines.Single(l => l.Contains("=1+1", StringComparison.Ordinal));
        Assert.Contains(",'=1+1.wav,", formula, StringComparison.Ordinal);
        // A peak below full scale begins with a minus, and stays a number.
        var cells = formula.Replace("\"E4, take 2\"", "E4", StringComparison.Ordinal).Split(',');
        Assert.InRange(double.Parse(cells[columns.IndexOf("peak_dbfs")], CultureInfo.InvariantCulture), -30, -1);
    }

    [Fact]
    public async Task The_sheet_as_json_has_the_shape_of_the_command_line()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        using var json = JsonDocument.Parse(await maker.GetStringAsync(new Uri($"/workbench/releases/{id}/sheet.json", UriKind.Relative)));
        var root = json.RootElement;
        Assert.Equal("libraryshelf/check/1", root.GetProperty("schema").GetString());
        Assert.Equal(9, root.GetProperty("recordings").GetArrayLength());
        var clipped = root.GetProperty("recordings").EnumerateArray().Single(r => r.GetProperty("path").GetString() == "kettle-60-1.wav");
        Assert.Equal(60, clipped.GetProperty("declared").GetProperty("note").GetInt32());
        Assert.Contains(clipped.GetProperty("findings").EnumerateArray(), f => f.GetProperty("severity").GetString() == "must-fix");
        Assert.Equal(1, root.GetProperty("summary").GetProperty("mustFix").GetInt32());

        using var draft = await maker.GetAsync(new Uri($"/workbench/releases/{await host.ReleaseAsync(slug: "other")}/sheet.json", UriKind.Relative));
        Assert.Equal(HttpStatusCode.Conflict, draft.StatusCode);
    }

    [Fact]
    public async Task A_recording_plays_in_ranges_under_its_own_type_and_only_from_its_release()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        var (hash, size) = await host.AskDbAsync(async db =>
        {
            var file = await db.ReleaseFiles.SingleAsync(f => f.ReleaseId == id && f.Path == "kettle-60-1.wav");
            return (file.Sha256, file.Size);
        });
        using var request = new HttpRequestMessage(HttpMethod.Get, $"/workbench/releases/{id}/recordings/{hash}") { Headers = { Range = new RangeHeaderValue(8, 11) } };
        using var part = await maker.SendAsync(request);
        Assert.Equal(HttpStatusCode.PartialContent, part.StatusCode);
        Assert.Equal("WAVE", await part.Content.ReadAsStringAsync());
        Assert.Equal(size, part.Content.Headers.ContentRange!.Length);
        Assert.Equal(("audio/wav", "inline; filename=\"kettle-60-1.wav\"", "nosniff"),
            (part.Content.Headers.ContentType!.MediaType, part.Content.Headers.ContentDisposition!.ToString(), part.Headers.GetValues("X-Content-Type-Options").Single()));

        var mapping = await host.AskDbAsync(db => db.ReleaseFiles.Where(f => f.Path == "kettle.sfz").Select(f => f.Sha256).SingleAsync());
        var other = await host.ReleaseAsync(slug: "other");
        foreach (var refused in new[] { $"{id}/recordings/{mapping}", $"{other}/recordings/{hash}", $"{id}/recordings/{hash.ToUpperInvariant()}", $"{id}/recordings/..%2f..%2fshelf.db" })
        {
            using var answer = await maker.GetAsync(new Uri($"/workbench/releases/{refused}", UriKind.Relative));
            Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        }
    }

    [Fact]
    public async Task Two_thousand_recordings_make_a_page_of_modest_length()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        await host.WithDbAsync(async db =>
        {
            db.ReleaseFiles.AddRange(Enumerable.Range(0, 2_000).Select(i => new ReleaseFile { ReleaseId = id, Path = $"more/{i:0000}.wav", Sha256 = $"{i:x64}", Size = 1 }));
            await db.SaveChangesAsync();
        });
        var page = await maker.GetStringAsync(new Uri($"/workbench/releases/{id}/sheet?all=true", UriKind.Relative));
        Assert.InRange(page.Length, 10_000, 400_000);
        Assert.Contains("Page 1 of 21", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Limits_are_changed_on_their_page_and_the_sheet_is_judged_by_them()
    {
        await using var host = new ShelfHost();
        var (maker, id) = await CheckedAsync(host);
        var page = await maker.PageAsync("/workbench/libraries/kettle/limits");
        page = await maker.PressAndStayAsync(page, "Save the limits", ("clippedPlacesMustFix", "many"));
        Assert.Equal("many", page.GetElementById("clippedplacesmustfix")!.GetAttribute("value"));
        Assert.NotNull(page.GetElementById("clippedplacesmustfix-error"));
        page = await maker.PressAndFollowAsync(page, "Save the limits", ("clippedPlacesMustFix", "100000"), ("middleCOctave", "3"));
        Assert.Contains("being judged by them", page.Body!.Words(), StringComparison.Ordinal);

        Assert.IsType<CheckReleaseOutcome.Checked>(await host.RunAsync((CheckRelease check) => check.RunAsync(id, default)));
        page = await maker.PageAsync($"/workbench/releases/{id}/sheet");
        Assert.Equal("0 must fix", page.QuerySelector(".tally span")!.Words());
        Assert.StartsWith("C3, take 1", page.QuerySelector(".sheet-table tbody th")!.Words(), StringComparison.Ordinal);
    }

    private static IEnumerable<string> Names(IDocument page) =>
        page.QuerySelectorAll(".sheet-table tbody th").Select(th => th.ChildNodes[0].TextContent.Trim());

    private static async Task<(HttpClient Maker, long Id)> CheckedAsync(ShelfHost host)
    {
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        var mapping = new System.Text.StringBuilder();
        foreach (var key in new[] { 60, 61, 63, 64, 65 })
            for (var take = 1; take <= (key == 65 ? 1 : 2); take++)
            {
                var path = (key, take) == (64, 2) ? "=1+1.wav" : $"kettle-{key}-{take}.wav";
                await PutAsync(host, id, path, Recording(key, take, isClipped: (key, take) == (60, 1)));
                mapping.Append(CultureInfo.InvariantCulture, $"<region> sample={path} key={key} seq_length={(key == 65 ? 1 : 2)} seq_position={take}\n");
            }
        await PutAsync(host, id, "kettle.sfz", System.Text.Encoding.UTF8.GetBytes(mapping.ToString()));
        Assert.IsType<AskForCheckOutcome.Asked>(await host.RunAsync((AskForCheck ask) => ask.RunAsync(id, default)));
        Assert.IsType<CheckReleaseOutcome.Checked>(await host.RunAsync((CheckRelease check) => check.RunAsync(id, default)));
        return (maker, id);
    }

    private static Task PutAsync(ShelfHost host, long id, string path, byte[] bytes) => host.WithDbAsync(async db =>
    {
        var stored = await host.RunAsync((IBlobStore store) => store.PutAsync(new MemoryStream(bytes), default));
        db.Blobs.Add(new Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32 });
        db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = id, Path = path, Sha256 = stored.Sha256, Size = stored.Size });
        await db.SaveChangesAsync();
    });

    /// <summary>Six tenths of a second of a dying sine, 16 bits, mono; driven to three times full scale when it is to clip.</summary>
    private static byte[] Recording(int key, int take, bool isClipped)
    {
        var hertz = 440 * Math.Pow(2, (key - 69) / 12.0);
        var data = Enumerable.Range(0, Rate * 6 / 10).SelectMany(i => BitConverter.GetBytes((short)Math.Clamp(
            (isClipped ? 3 : 0.3 + (0.001 * take)) * 32767 * Math.Sin(2 * Math.PI * hertz * i / Rate) * Math.Exp(-12.0 * i / Rate), short.MinValue, short.MaxValue))).ToArray();
        byte[] fmt = [1, 0, 1, 0, .. BitConverter.GetBytes(Rate), .. BitConverter.GetBytes(2 * Rate), 2, 0, 16, 0];
        return [.. "RIFF"u8, .. BitConverter.GetBytes(36 + data.Length), .. "WAVEfmt "u8, .. BitConverter.GetBytes(16), .. fmt, .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data];
    }
}
