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

/// <summary>A shelf with some figures of each kind, for who only reads them.</summary>
public sealed class StockedNumbers : IAsyncLifetime
{
    public ShelfHost Host { get; private set; } = null!;

    public async Task InitializeAsync() => Host = await NumbersEndpointsTests.StockAsync();

    public async Task DisposeAsync() => await Host.DisposeAsync();
}

public sealed class NumbersEndpointsTests(StockedNumbers stocked) : IClassFixture<StockedNumbers>
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);
    private static readonly string[] All = ["downloads", "libraries", "versions", "members", "drops"];

    [Fact]
    public async Task Downloads_are_the_same_as_json_as_a_file_and_on_the_page()
    {
        var host = stocked.Host;
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        const string Range = "?from=2026-11-01&to=2026-11-20";
        var json = await JsonAsync(machine, "downloads" + Range);
        Assert.Equal(
            await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=Csv"),
            json.GetProperty("lines").EnumerateArray().Select(l => $"{l.GetProperty("day")},{Slug(l.GetProperty("box"))},{l.GetProperty("title")},{l.GetProperty("version")},{Line(l, "started", "finished", "startedFree", "finishedFree", "startedMembers", "finishedMembers")}"));
        Assert.Equal(["2026-11-10,tin-roof,Tin Roof,1.0.0,4,3,4,3,0,0", "2026-11-11,tin-roof,Tin Roof,1.0.0,3,2,0,0,3,2"], await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=Csv"));
        // 3 and 2 listeners' finished ones; the robot's stand in the bytes alone.
        Assert.Equal((5, 7, 1_700L), (json.GetProperty("finished").GetInt32(), json.GetProperty("started").GetInt32(), json.GetProperty("allBytes").GetInt64()));
        Assert.Equal((9, "2026-11-01", "2026-11-20"), (json.GetProperty("by").GetProperty("robots").GetProperty("started").GetInt32(), json.GetProperty("from").GetString(), json.GetProperty("to").GetString()));
        Assert.StartsWith("Five downloads finished in 20 days, 7 started.", (await maker.PageAsync("/workbench/numbers/downloads" + Range)).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=PeopleCsv"), Lines(json.GetProperty("peopleByDay"), "day", "people", "signedIn", "free", "members"));
        Assert.Equal("2026-11-10,4,1,,", (await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=PeopleCsv"))[9]);
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=MonthsCsv"), Lines(json.GetProperty("signedInByMonth"), "month", "people", "free", "members"));
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=AnswersCsv"), Lines(json.GetProperty("answers"), "status", "times"));
        // The maker's own cookie reads them too.
        Assert.Equal(json.GetRawText(), (await JsonAsync(maker, "downloads" + Range)).GetRawText());
    }

    [Fact]
    public async Task Boxes_versions_members_and_drops_are_the_same_as_json_and_as_files()
    {
        var host = stocked.Host;
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        var libraries = await JsonAsync(machine, "libraries");
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/libraries?handler=Csv"), Lines(libraries.GetProperty("boxes"), "slug", "title", "wholeBytes", "finishedWhole", "finishedUpdates", "begun", "notFinished", "resumes",
            "notFinishedKnown", "notFinishedAskedAgain", "notFinishedBytesCovered", "notFinishedBytesInAll", "wholeNotFinished", "wholeNotFinishedKnown", "wholeNotFinishedAskedAgain", "finishedWholeFree", "finishedWholeMembers", "finishedUpdatesFree", "finishedUpdatesMembers", "begunFree", "begunMembers", "notFinishedFree", "notFinishedMembers"));
        Assert.Equal(["bowed saw,4"], Lines(libraries.GetProperty("searches"), "words", "times"));
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/libraries?handler=SearchesCsv"), Lines(libraries.GetProperty("searches"), "words", "times"));
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/libraries?handler=ReferrersCsv"), Lines(libraries.GetProperty("cameFrom"), "host", "title", "times"));

        var versions = await JsonAsync(machine, "versions?from=2026-11-10");
        var people = await CsvAsync(maker, "/workbench/numbers/versions?from=2026-11-10&handler=Csv");
        Assert.Equal(people, versions.GetProperty("lines").EnumerateArray().Select(l => $"{l.GetProperty("day")},tin-roof,Tin Roof,{l.GetProperty("version")},{l.GetProperty("people")},{l.GetProperty("of")}"));
        Assert.Equal("2026-11-25,tin-roof,Tin Roof,1.0.0,2,2", people[^1]);

        var members = await JsonAsync(machine, "members");
        Assert.Equal(
            (await CsvAsync(maker, "/workbench/numbers/members?handler=Csv")).Select(l => string.Join(',', l.Split(',')[..9])),
            members.GetProperty("months").EnumerateArray().Select(m => Line(m, "month", "isOver", "atStart", "atStartGiven", "joined", "joinedGiven", "returned", "left", "leftGiven")));
        Assert.Equal((1, 1), (members.GetProperty("given").GetInt32(), members.GetProperty("paying").GetInt32()));
        Assert.Equal(await CsvAsync(maker, "/workbench/numbers/members?handler=Csv&what=stays"), Lines(members.GetProperty("stays"), "joinedIn", "monthsLater", "joined", "members"));
        // £72 a year is £6 a month, in pence.
        Assert.Equal(["GBP,600,1"], Lines(members.GetProperty("months").EnumerateArray().Single(m => m.GetProperty("month").GetString() == "2026-10").GetProperty("income"), "currency", "minor", "memberships"));

        var drop = (await JsonAsync(machine, "drops?from=2026-11")).GetProperty("lines").EnumerateArray().Single();
        var within = drop.GetProperty("within").EnumerateArray().Select(w => Line(w, "people", "isOver"));
        Assert.Equal(Assert.Single(await CsvAsync(maker, "/workbench/numbers/drops?from=2026-11&handler=Csv")), $"2026-11,,2026-11-10T08:00:00Z,{drop.GetProperty("holders")},{string.Join(',', within)},{drop.GetProperty("byNow")},{string.Join(',', drop.GetProperty("within").EnumerateArray().Select(w => w.GetProperty("usuallyBefore").ToString()))}");
        Assert.Equal("40", drop.GetProperty("within")[1].GetProperty("usuallyBefore").ToString());
    }

    [Theory]
    [InlineData("?from=rubbish&to=2026-99-99")]
    [InlineData("?from=2027-01-01&to=2031-01-01")]
    [InlineData("?from=2026-11-20&to=2026-11-01")]
    [InlineData("?from=&to=&library=")]
    public async Task Odd_ranges_are_taken_as_the_page_takes_them(string asked)
    {
        var host = stocked.Host;
        var (machine, maker) = (await MachineAsync(host, TokenUse.ReadNumbers), await host.MakerAsync());
        foreach (var what in All)
            Assert.Equal(JsonValueKind.Object, (await JsonAsync(machine, what + asked)).ValueKind);
        var json = await JsonAsync(machine, "downloads" + asked);
        var page = await maker.PageAsync("/workbench/numbers/downloads" + asked);
        Assert.Equal((json.GetProperty("from").GetString(), json.GetProperty("to").GetString()), (page.QuerySelector("input[name=from]")!.GetAttribute("value"), page.QuerySelector("input[name=to]")!.GetAttribute("value")));
    }

    /// <summary>A page shows all boxes for a slug that is none; a program would take those figures for its own. RFC 9457 is the shape.</summary>
    [Theory]
    [InlineData("downloads?library=tin-rof")]
    [InlineData("downloads?library=TIN-ROOF")]
    [InlineData("versions?library=tin-rof")]
    [InlineData("versions?library=unheard")]
    public async Task A_library_that_is_not_there_has_no_figures(string asked)
    {
        var host = stocked.Host;
        using var answer = await (await MachineAsync(host, TokenUse.ReadNumbers)).GetAsync(new Uri("/api/numbers/" + asked, UriKind.Relative));
        Assert.Equal((HttpStatusCode.NotFound, "application/problem+json", "no-store"), (answer.StatusCode, answer.Content.Headers.ContentType!.MediaType, answer.Headers.CacheControl!.ToString()));
        using var problem = JsonDocument.Parse(await answer.Content.ReadAsStringAsync());
        Assert.Equal((404, "No such library"), (problem.RootElement.GetProperty("status").GetInt32(), problem.RootElement.GetProperty("title").GetString()));
        Assert.Contains($"“{asked.Split('=')[1]}”", problem.RootElement.GetProperty("detail").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_one_library_answers_are_not_known_and_its_own_figures_are()
    {
        var host = stocked.Host;
        var machine = await MachineAsync(host, TokenUse.ReadNumbers);
        var one = await JsonAsync(machine, "downloads?from=2026-11-01&to=2026-11-20&library=tin-roof");
        Assert.Equal(("tin-roof", JsonValueKind.Null, 5), (one.GetProperty("library").GetString(), one.GetProperty("answers").ValueKind, one.GetProperty("finished").GetInt32()));
        Assert.Equal(["206,8"], Lines((await JsonAsync(machine, "downloads")).GetProperty("answers"), "status", "times"));
    }

    /// <summary>Programs hold on to these names: docs/operating.md lists them, and none is ever renamed.</summary>
    [Fact]
    public async Task Every_answer_has_the_fields_that_are_written_down()
    {
        const string Sums = "started finished requests resumes bytes";
        Dictionary<string, string> fields = new()
        {
            ["downloads"] = "from to timeZone library uncountedDays started finished allBytes by mostPeopleInADay signedInByMonth peopleByDay answers lines beside",
            ["downloads.by"] = "free members robots maker",
            ["downloads.by.free"] = Sums, ["downloads.by.members"] = Sums, ["downloads.by.robots"] = Sums, ["downloads.by.maker"] = Sums,
            ["downloads.mostPeopleInADay"] = "day people signedIn",
            ["downloads.signedInByMonth"] = "month people free members",
            ["downloads.peopleByDay"] = "day people signedIn free members",
            ["downloads.answers"] = "status times",
            ["downloads.lines"] = "day box title version started finished startedFree finishedFree startedMembers finishedMembers",
            ["libraries"] = "from to timeZone boxes cameFrom searches uncountedDays beside wordsKeptFrom",
            ["libraries.boxes"] = "slug title wholeBytes finishedWhole finishedUpdates begun notFinished resumes notFinishedKnown notFinishedAskedAgain notFinishedBytesCovered notFinishedBytesInAll wholeNotFinished wholeNotFinishedKnown wholeNotFinishedAskedAgain finishedWholeFree finishedWholeMembers finishedUpdatesFree finishedUpdatesMembers begunFree begunMembers notFinishedFree notFinishedMembers",
            ["libraries.cameFrom"] = "host title times",
            ["libraries.searches"] = "words times",
            ["versions"] = "from to timeZone library latest people uptakes lines beside",
            ["versions.uptakes"] = "version outOn hadTheBox haveItByNow daysToHalf daysToNineInTen",
            ["versions.lines"] = "day version people of",
            ["members"] = "from to timeZone paying given income withoutPrice months stays free leftAfter beside",
            ["members.income"] = "currency minor memberships",
            ["members.months"] = "month isOver atStart atStartGiven joined joinedGiven returned left leftGiven churn failedRenewals recoveredRenewals income",
            ["members.months.income"] = "currency minor memberships",
            ["members.stays"] = "joinedIn monthsLater joined members",
            ["members.free"] = "firstFreeDownloadIn people joinedWithin",
            ["members.free.joinedWithin"] = "days people isOver",
            ["members.leftAfter"] = "months people",
            ["drops"] = "from to timeZone uncounted lines beside",
            ["drops.lines"] = "month libraries sentAt holders within byNow",
            ["drops.lines.within"] = "days people isOver usuallyBefore",
        };
        var host = stocked.Host;
        var machine = await MachineAsync(host, TokenUse.ReadNumbers);
        var found = new Dictionary<string, string>();
        foreach (var what in All)
            Walk(what, await JsonAsync(machine, what));
        Assert.Equal(fields.OrderBy(f => f.Key, StringComparer.Ordinal), found.OrderBy(f => f.Key, StringComparer.Ordinal));

        void Walk(string path, JsonElement element)
        {
            if (element.ValueKind == JsonValueKind.Object)
            {
                var names = string.Join(' ', element.EnumerateObject().Select(p => p.Name));
                Assert.Equal(names, found.TryAdd(path, names) ? names : found[path]);
                foreach (var property in element.EnumerateObject())
                    Walk($"{path}.{property.Name}", property.Value);
            }
            else if (element.ValueKind == JsonValueKind.Array)
            {
                foreach (var one in element.EnumerateArray())
                    Walk(path, one);
            }
        }
    }

    [Fact]
    public async Task Each_token_opens_its_own_doors_and_no_cache_keeps_a_figure()
    {
        var host = stocked.Host;
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

    /// <summary>From events to figures: counted, rolled up, and read by a page, a file and a program; by hand it is docs/counting.md's sum.</summary>
    [Fact]
    public async Task Downloads_as_they_were_handed_over_are_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        await using var host = await StockAsync();
        await host.WithDbAsync(async db =>
        {
            await db.DayCounts.ExecuteDeleteAsync();
            var release = await db.Releases.SingleAsync();
            db.Archives.Add(new Core.Sealing.Archive { Id = 1, ReleaseId = release.Id, RecipeSha256 = "r", Length = 100, FileName = "r.zip", CreatedAt = Now });
            // Finished, finished in two requests, begun, a double click's two, a probe, a robot's.
            foreach (var (id, seconds, visitor, parts) in new[] { ("a", 0, "v1", "0-100"), ("b", 100, "v2", "0-60 60-100"), ("c", 200, "v3", "0-60"), ("d", 300, "v4", "0-9"), ("e", 310, "v4", "0-100"), ("f", 400, "v5", "0-2"), ("g", 500, "robot", "0-100") })
            {
                var at = Now.AddHours(-3).AddSeconds(seconds);
                db.Downloads.Add(new Core.Downloads.Download { Id = id, ArchiveId = 1, ReleaseId = release.Id, LibraryId = release.LibraryId, Why = MayDownloadWhy.Free, Visitor = visitor, IsRobot = visitor == "robot", StartedAt = at });
                foreach (var part in parts.Split(' ').Select(p => p.Split('-')))
                    db.DownloadEvents.Add(new Core.Downloads.DownloadEvent { DownloadId = id, From = long.Parse(part[0], CultureInfo.InvariantCulture), To = long.Parse(part[1], CultureInfo.InvariantCulture), BeginsAnswer = true, At = at });
            }
            await db.SaveChangesAsync();
        });
        await host.RunAsync<CountDownloads, int>(count => count.RunAsync(default));
        await host.RunAsync<RollUpDays, int>(rollUp => rollUp.RunAsync(default));
        var byHand = await host.AskDbAsync(db => db.Database.SqlQueryRaw<int>("""
            SELECT CAST(1000 * count(t."StartedAt") + count(t."FinishedAt") AS INTEGER) AS "Value" FROM "Downloads" d JOIN "DownloadTallies" t ON t."DownloadId" = d."Id"
            WHERE d."Why" <> 'Maker' AND d."DropId" IS NULL AND NOT t."IsAgain" AND NOT d."IsRobot"
            """).SingleAsync());
        Assert.Equal(4_003, byHand);
        var (json, maker) = (await JsonAsync(await MachineAsync(host, TokenUse.ReadNumbers), "downloads"), await host.MakerAsync());
        Assert.Equal((4, 3, 6), (json.GetProperty("started").GetInt32(), json.GetProperty("finished").GetInt32(), json.GetProperty("by").GetProperty("free").GetProperty("requests").GetInt32()));
        Assert.Equal("Tin Roof|all|4|3|3|0", string.Join('|', (await maker.PageAsync("/workbench/numbers/downloads")).QuerySelector("#versions tbody tr")!.Children.Select(c => c.Words())));
        Assert.Contains(",4,3,", Assert.Single(await CsvAsync(maker, "/workbench/numbers/downloads?handler=csv")), StringComparison.Ordinal);
    }

    /// <summary>As long as the first, as on the pages; it is what the same days are by themselves, but for how long versions took, which is of no days.</summary>
    [Theory]
    [InlineData("downloads", "from=2026-11-12&to=2026-11-22&against=2026-11-10", "from=2026-11-10&to=2026-11-20")]
    [InlineData("downloads", "library=tin-roof&from=2026-11-12&to=2026-11-22&against=2026-11-10", "library=tin-roof&from=2026-11-10&to=2026-11-20")]
    [InlineData("libraries", "from=2026-11-21&to=2026-11-24&against=2026-11-09", "from=2026-11-09&to=2026-11-12")]
    [InlineData("versions", "from=2026-11-21&against=2026-11-09", "from=2026-11-09&to=2026-11-13")]
    [InlineData("members", "from=2026-11&to=2026-11&against=2026-10", "from=2026-10&to=2026-10")]
    [InlineData("drops", "from=2026-11&against=2026-10", "from=2026-10&to=2026-10")]
    public async Task A_second_range_stands_beside_the_first(string what, string asked, string alone)
    {
        var host = stocked.Host;
        var machine = await MachineAsync(host, TokenUse.ReadNumbers);
        var beside = (await JsonAsync(machine, $"{what}?{asked}")).GetProperty("beside");
        var other = await JsonAsync(machine, $"{what}?{alone}");
        Assert.Equal(other.EnumerateObject().Where(p => p.Name != "uptakes").Select(p => p.ToString()), beside.EnumerateObject().Where(p => p.Name != "uptakes").Select(p => p.ToString()));
        Assert.NotEqual(JsonValueKind.Null, beside.ValueKind);
        // Of days and months to come, or before any, nothing is known; what is none asks for none.
        foreach (var unknown in what is "members" or "drops" ? new[] { "2031-01", "2019-01", "rubbish", "" } : ["2031-01-01", "2019-01-01", "rubbish", ""])
            Assert.Equal(JsonValueKind.Null, (await JsonAsync(machine, $"{what}?{asked[..asked.IndexOf("against", StringComparison.Ordinal)]}against={unknown}")).GetProperty("beside").ValueKind);
    }

    [Fact]
    public async Task No_field_names_a_person()
    {
        await using var host = await StockAsync();
        const long Id = 918_273_645;
        await host.WithDbAsync(db =>
        {
            db.Users.Add(new Person { Id = Id, Email = "bulrush@post.example", NormalizedEmail = "BULRUSH@POST.EXAMPLE", UserName = "Bulrush", NormalizedUserName = "BULRUSH", SecurityStamp = "s", CreatedAt = Now });
            db.MembershipGrants.Add(new MembershipGrant { PersonId = Id, From = Now.AddDays(-3) });
            db.PersonFirsts.Add(new PersonFirst { PersonId = Id, FreeAt = Now.AddDays(-9) });
            var release = db.Releases.Single();
            db.PersonVersions.Add(new PersonVersion { PersonId = Id, LibraryId = release.LibraryId, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, 12), Since = Now.AddDays(-13) });
            db.Downloads.AddRange(
                new Core.Downloads.Download { Id = "secretlink", ReleaseId = release.Id, LibraryId = release.LibraryId, PersonId = Id, StartedAt = Now },
                new Core.Downloads.Download { Id = "otherlink", ReleaseId = release.Id, LibraryId = release.LibraryId, Visitor = "hashofvisitor", StartedAt = Now });
            db.DownloadTallies.AddRange(new DownloadTally { DownloadId = "secretlink", StartedAt = Now, FinishedAt = Now }, new DownloadTally { DownloadId = "otherlink", StartedAt = Now });
            return db.SaveChangesAsync();
        });
        var machine = await MachineAsync(host, TokenUse.ReadNumbers);
        foreach (var what in All)
        {
            var text = (await JsonAsync(machine, what)).GetRawText();
            Assert.All(new[] { "@", "bulrush", "post.example", "918273645", "secretlink", "otherlink", "hashofvisitor", "sedge", "wren" }, trace => Assert.DoesNotContain(trace, text, StringComparison.OrdinalIgnoreCase));
            Assert.All(new[] { "id", "personId", "person", "name", "email", "address", "visitor", "network" }, name => Assert.DoesNotContain($"\"{name}\":", text, StringComparison.OrdinalIgnoreCase));
        }
        // It is counted all the same.
        Assert.Equal(2, (await JsonAsync(machine, "members")).GetProperty("given").GetInt32());
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

    /// <summary>A box in one version and one that was never heard, some days of the first, two people who have it, a member by the maker's hand, a drop, an income and a search.</summary>
    internal static async Task<ShelfHost> StockAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        var person = await host.PersonAsync("sedge@post.example");
        var (gone, payer) = (await host.PersonAsync("wren@post.example"), await host.PersonAsync("rush@post.example"));
        await host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "Tin Roof", CreatedAt = Now };
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = Now });
            var release = new Release { Number = "1.0.0", CreatedAt = Now };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, Now.AddDays(-30)));
            library.Releases.Add(release);
            db.Libraries.AddRange(library, new Library { Slug = "unheard", Title = "Unheard", CreatedAt = Now });
            await db.SaveChangesAsync();
            db.DayCounts.AddRange(
                new DayCount { Day = new LocalDate(2026, 11, 10), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Free, Started = 4, Finished = 3, Ended = 3, Bytes = 1000 },
                new DayCount { Day = new LocalDate(2026, 11, 11), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Members, Started = 3, Finished = 2, Ended = 2, Bytes = 500 },
                new DayCount { Day = new LocalDate(2026, 11, 12), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Robots, Started = 9, Finished = 1, Bytes = 200 },
                new DayCount { Day = new LocalDate(2026, 11, 21), LibraryId = library.Id, ReleaseId = release.Id, By = FetchedBy.Free, Started = 1, Finished = 1, Bytes = 100 });
            db.DayRolls.Add(new DayRoll { Day = new LocalDate(2026, 11, 10), Changed = 1, Rolled = 1 });
            db.DayPeople.AddRange(
                new DayPeople { Day = new LocalDate(2026, 11, 10), People = 4, SignedIn = 1 }, new DayPeople { Day = new LocalDate(2026, 11, 11), People = 3, SignedIn = 3 },
                new DayPeople { Day = new LocalDate(2026, 11, 10), LibraryId = library.Id, People = 4, SignedIn = 1 });
            db.MonthPeople.AddRange(new MonthPeople { Month = new(2026, 11), SignedIn = 3 }, new MonthPeople { Month = new(2026, 11), LibraryId = library.Id, SignedIn = 3 });
            foreach (var (kind, box, word, times) in new[] { (SightingKind.Search, 0, "bowed saw", 4), (SightingKind.Referrer, library.Id, "reeds.example", 2), (SightingKind.Answer, 0, "206", 8) })
            {
                db.Sightings.Add(new Sighting { Day = new LocalDate(2026, 11, 12), Kind = kind, LibraryId = box, Word = word, Times = times });
                db.MonthSightings.Add(new MonthSighting { Month = new(2026, 11), Kind = kind, LibraryId = box, Word = word, Times = times });
            }
            db.VersionMoves.AddRange(
                // Given early, so that somebody had it when it came out.
                new VersionMove { LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = 0, Day = new LocalDate(2026, 11, 10), People = 1 },
                new VersionMove { LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, 12), People = 1 });
            foreach (var (id, day) in new[] { (person.Id, 10), (person.Id + 1, 12) })
                db.PersonVersions.Add(new PersonVersion { PersonId = id, LibraryId = library.Id, ReleaseId = release.Id, LatestThenId = release.Id, Day = new LocalDate(2026, 11, day), Since = new(2026, 11, day, 9, 0, 0, TimeSpan.Zero) });
            db.MembershipGrants.AddRange(new MembershipGrant { PersonId = person.Id, From = Now.AddDays(-40) }, new MembershipGrant { PersonId = gone.Id, From = Now.AddDays(-80), Until = Now.AddDays(-20) });
            db.PersonFirsts.Add(new PersonFirst { PersonId = person.Id, FreeAt = Now.AddDays(-60) });
            var plan = new Plan { Minor = 600, Currency = "GBP", CreatedAt = Now };
            db.Plans.Add(plan);
            await db.SaveChangesAsync();
            db.PaidMemberships.Add(new PaidMembership { PersonId = payer.Id, PlanId = plan.Id, ProviderId = "sub_1", StartedAt = Now.AddDays(-5), ActiveUntil = Now.AddDays(25) });
            db.MonthIncomes.Add(new MonthIncome { Month = new(2026, 10), Currency = "GBP", Minor = 600, Memberships = 1, At = Now.AddDays(-26) });
            var drop = new Drop { Month = new(2026, 11), State = DropState.Sent, SentAt = new(2026, 11, 10, 8, 0, 0, TimeSpan.Zero) };
            var before = new Drop { Month = new(2026, 10), State = DropState.Sent, SentAt = new(2026, 10, 10, 8, 0, 0, TimeSpan.Zero) };
            db.Drops.AddRange(drop, before);
            await db.SaveChangesAsync();
            db.DropUptakes.Add(new DropUptake { DropId = before.Id, Holders = 10, After1 = 1, After7 = 4, After30 = 8, ByNow = 9, RolledAt = Now });
            db.DropUptakes.Add(new DropUptake { DropId = drop.Id, Holders = 10, After1 = 2, After7 = 5, After30 = 6, ByNow = 6, RolledAt = Now });
            await db.SaveChangesAsync();
        });
        return host;
    }
}
