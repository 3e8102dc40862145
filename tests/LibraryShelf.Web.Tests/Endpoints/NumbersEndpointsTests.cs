using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Text.Json;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class NumbersEndpointsTests
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);
    private static readonly string[] All = ["downloads", "libraries", "versions", "members", "drops"];

    [Fact]
    public async Task Downloads_are_the_same_as_json_as_a_file_and_on_the_page()
    {
        await using var host = await StockAsync();
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        const string Range = "?from=2026-11-01&to=2026-11-20";
        var json = await JsonAsync(machine, "downloads" + Range);
        Assert.Equal(
            await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=Csv"),
            json.GetProperty("lines").EnumerateArray().Select(l => $"{l.GetProperty("day")},{Slug(l.GetProperty("box"))},{l.GetProperty("title")},{l.GetProperty("version")},{l.GetProperty("started")},{l.GetProperty("finished")}"));
        Assert.Equal("2026-11-10,tin-roof,Tin Roof,1.0.0,4,3", (await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=Csv"))[0]);
        // 3 and 2 listeners' finished ones; the robot's stand in the bytes alone.
        Assert.Equal((5, 7, 1_700L), (json.GetProperty("finished").GetInt32(), json.GetProperty("started").GetInt32(), json.GetProperty("allBytes").GetInt64()));
        Assert.Equal((9, "2026-11-01", "2026-11-20"), (json.GetProperty("by").GetProperty("robots").GetProperty("started").GetInt32(), json.GetProperty("from").GetString(), json.GetProperty("to").GetString()));
        Assert.StartsWith("Five downloads finished in 20 days, 7 started.", (await maker.PageAsync("/workbench/numbers/downloads" + Range)).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        // The maker's own cookie reads them too.
        Assert.Equal(json.GetRawText(), (await JsonAsync(maker, "downloads" + Range)).GetRawText());
    }

    [Fact]
    public async Task Boxes_versions_members_and_drops_are_the_same_as_json_and_as_files()
    {
        await using var host = await StockAsync();
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        var libraries = await JsonAsync(machine, "libraries");
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/libraries?handler=Csv"), Lines(libraries.GetProperty("boxes"), "slug", "title", "wholeBytes", "finishedWhole", "finishedUpdates", "begun", "notFinished", "resumes"));
        Assert.Equal(["bowed saw,4"], Lines(libraries.GetProperty("searches"), "words", "times"));

        var versions = await JsonAsync(machine, "versions?from=2026-11-10");
        var people = await CsvAsync(maker, "/workbench/numbers/versions?from=2026-11-10&handler=Csv");
        Assert.Equal(people, versions.GetProperty("lines").EnumerateArray().Select(l => $"{l.GetProperty("day")},tin-roof,Tin Roof,{l.GetProperty("version")},{l.GetProperty("people")},{l.GetProperty("of")}"));
        Assert.Equal("2026-11-25,tin-roof,Tin Roof,1.0.0,2,2", people[^1]);

        var members = await JsonAsync(machine, "members");
        Assert.Equal(
            (await CsvAsync(maker, "/workbench/numbers/members?handler=Csv")).Select(l => string.Join(',', l.Split(',')[..9])),
            members.GetProperty("months").EnumerateArray().Select(m => Line(m, "month", "isOver", "atStart", "atStartGiven", "joined", "joinedGiven", "returned", "left", "leftGiven")));
        Assert.Equal((1, 0), (members.GetProperty("given").GetInt32(), members.GetProperty("paying").GetInt32()));
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/members?handler=Csv&what=stays"), Lines(members.GetProperty("stays"), "joinedIn", "monthsLater", "joined", "members"));
        // £72 a year is £6 a month, in pence.
        Assert.Equal(["GBP,600,1"], Lines(members.GetProperty("months").EnumerateArray().Single(m => m.GetProperty("month").GetString() == "2026-10").GetProperty("income"), "currency", "minor", "memberships"));

        var drop = (await JsonAsync(machine, "drops")).GetProperty("lines").EnumerateArray().Single();
        var within = drop.GetProperty("within").EnumerateArray().Select(w => Line(w, "people", "isOver"));
        Assert.Equal(Assert.Single(await CsvAsync(maker, "/workbench/numbers/drops?handler=Csv")), $"2026-11,,2026-11-10T08:00:00Z,{drop.GetProperty("holders")},{string.Join(',', within)},{drop.GetProperty("byNow")}");
    }

    [Theory]
    [InlineData("?from=rubbish&to=2026-99-99&library=none")]
    [InlineData("?from=2027-01-01&to=2031-01-01")]
    [InlineData("?from=2026-11-20&to=2026-11-01")]
    [InlineData("?from=&to=&library=")]
    public async Task Odd_ranges_are_taken_as_the_page_takes_them(string asked)
    {
        await using var host = await StockAsync();
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        foreach (var what in All)
            Assert.Equal(JsonValueKind.Object, (await JsonAsync(machine, what + asked)).ValueKind);
        var json = await JsonAsync(machine, "downloads" + asked);
        var page = await maker.PageAsync("/workbench/numbers/downloads" + asked);
        Assert.Equal((json.GetProperty("from").GetString(), json.GetProperty("to").GetString()), (page.QuerySelector("input[name=from]")!.GetAttribute("value"), page.QuerySelector("input[name=to]")!.GetAttribute("value")));
    }

    [Fact]
    public async Task Each_token_opens_its_own_doors_and_no_cache_keeps_a_figure()
    {
        await using var host = await StockAsync();
        var (reader, sender, nobody) = (await MachineAsync(host, TokenUse.ReadNumbers), await MachineAsync(host, TokenUse.Send), host.Visitor());
        foreach (var what in All)
        {
            using var read = await reader.GetAsync(new Uri("/api/numbers/" + what, UriKind.Relative));
            Assert.Equal((HttpStatusCode.OK, "no-store", "application/json"), (read.StatusCode, read.Headers.CacheControl!.ToString(), read.Content.Headers.ContentType!.MediaType));
            Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(sender, HttpMethod.Get, "/api/numbers/" + what));
            Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(nobody, HttpMethod.Get, "/api/numbers/" + what));
            Assert.Equal(HttpStatusCode.MethodNotAllowed, await StatusAsync(reader, HttpMethod.Post, "/api/numbers/" + what));
        }
        Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(reader, HttpMethod.Get, "/api/drafts/1"));
        Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(reader, HttpMethod.Post, "/api/drafts/1/check"));
        Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(reader, HttpMethod.Post, "/uploads"));
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync(reader, HttpMethod.Get, "/workbench/numbers"));
    }

    [Fact]
    public async Task No_field_names_a_person()
    {
        await using var host = await StockAsync();
        var machine = await MachineAsync(host, TokenUse.ReadNumbers);
        foreach (var what in All)
            Assert.DoesNotContain("@", (await JsonAsync(machine, what)).GetRawText(), StringComparison.Ordinal);
    }

    private static string Slug(JsonElement box) => box.ValueKind == JsonValueKind.Null ? "" : box.GetString()!;

    private static IEnumerable<string> Lines(JsonElement rows, params string[] fields) => rows.EnumerateArray().Select(r => Line(r, fields));

    private static string Line(JsonElement row, params string[] fields) => string.Join(',', fields.Select(f => row.GetProperty(f) switch
    {
        { ValueKind: JsonValueKind.True } => "yes",
        { ValueKind: JsonValueKind.False } => "no",
        var value => value.ToString(),
    }));

    private static async Task<JsonElement> JsonAsync(HttpClient client, string what)
    {
        using var answer = await client.GetAsync(new Uri("/api/numbers/" + what, UriKind.Relative));
        Assert.True(answer.IsSuccessStatusCode, $"{what}: {answer.StatusCode}");
        using var document = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        return document.RootElement.Clone();
    }

    /// <summary>Without its head.</summary>
    private static async Task<List<string>> CsvAsync(HttpClient maker, string address)
    {
        using var answer = await maker.GetAsync(new Uri(address, UriKind.Relative));
        answer.EnsureSuccessStatusCode();
        return [.. (await answer.Content.ReadAsStringAsync()).Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Skip(1)];
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient client, HttpMethod method, string path)
    {
        using var request = new HttpRequestMessage(method, path);
        using var answer = await client.SendAsync(request);
        return answer.StatusCode;
    }

    private static async Task<HttpClient> MachineAsync(ShelfHost host, TokenUse use)
    {
        var token = await host.RunAsync<MakeUploadToken, string>(make => make.RunAsync(use.ToString(), default, use));
        var machine = host.Visitor();
        machine.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return machine;
    }

    /// <summary>A box in one version, some days of it, two people who have it, a member by the maker's hand, a drop, an income and a search.</summary>
    private static async Task<ShelfHost> StockAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        var person = await host.PersonAsync("sedge@post.example");
        await host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "Tin Roof", CreatedAt = Now };
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = Now });
            var release = new Release { Number = "1.0.0", CreatedAt = Now };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, Now.AddDays(-30)));
            library.Releases.Add(release);
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            db.DayCounts.AddRange(
                new DayCount { Day = new LocalDate(2026, 11, 10), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Free, Started = 4, Finished = 3, Ended = 3, Bytes = 1000 },
                new DayCount { Day = new LocalDate(2026, 11, 11), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Members, Started = 3, Finished = 2, Ended = 2, Bytes = 500 },
                new DayCount { Day = new LocalDate(2026, 11, 12), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Robots, Started = 9, Finished = 1, Bytes = 200 },
                new DayCount { Day = new LocalDate(2026, 11, 21), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Free, Started = 1, Finished = 1, Bytes = 100 });
            db.Sightings.Add(new Sighting { Day = new LocalDate(2026, 11, 12), Kind = SightingKind.Search, Word = "bowed saw", Times = 4 });
            db.VersionMoves.AddRange(
                new VersionMove { LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, 10), People = 1 },
                new VersionMove { LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, 12), People = 1 });
            foreach (var (id, day) in new[] { (person.Id, 10), (person.Id + 1, 12) })
                db.PersonVersions.Add(new PersonVersion { PersonId = id, LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, day), Since = new(2026, 11, day, 9, 0, 0, TimeSpan.Zero) });
            db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = Now.AddDays(-40) });
            db.MonthIncomes.Add(new MonthIncome { Month = new(2026, 10), Currency = "GBP", Minor = 600, Memberships = 1, At = Now.AddDays(-26) });
            var drop = new Drop { Month = new(2026, 11), State = DropState.Sent, SentAt = new(2026, 11, 10, 8, 0, 0, TimeSpan.Zero) };
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            db.DropUptakes.Add(new DropUptake { DropId = drop.Id, Holders = 10, After1 = 2, After7 = 5, After30 = 6, ByNow = 6, RolledAt = Now });
            await db.SaveChangesAsync();
        });
        return host;
    }
}
