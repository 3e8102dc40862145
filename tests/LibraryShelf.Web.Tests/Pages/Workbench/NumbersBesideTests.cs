using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>Lines over days, and a second range beside the first: picture, table, file and row say the same.</summary>
public sealed class NumbersBesideTests
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);
    private static readonly LocalDate Today = new(2026, 11, 25);
    private static readonly LocalDate FirstCounted = new(2026, 10, 1);

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    private static async Task<ShelfHost> HostAsync(Action<Core.Data.ShelfDb, long, long>? more = null)
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "Tin Roof", CreatedAt = Now };
            var release = new Release { Number = "1.0.0", CreatedAt = Now };
            library.Releases.Add(release);
            db.Libraries.Add(library);
            db.DayRolls.Add(new DayRoll { Day = FirstCounted, Changed = 1, Rolled = 1 });
            await db.SaveChangesAsync();
            more?.Invoke(db, library.Id, release.Id);
            await db.SaveChangesAsync();
        });
        return host;
    }

    [Fact]
    public async Task People_a_day_are_a_line_a_table_and_a_file_of_the_same_rows()
    {
        await using var host = await HostAsync((db, library, _) => db.DayPeople.AddRange(
            new DayPeople { Day = Today.PlusDays(-2), People = 9, SignedIn = 4 }, new DayPeople { Day = Today, People = 5, SignedIn = 5, Free = 4, Members = 2 },
            new DayPeople { Day = Today, LibraryId = library, People = 2, SignedIn = 1 }, new DayPeople { Day = Today.PlusDays(-40), People = 30, SignedIn = 0 }));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-22");
        var figure = page.QuerySelector("figure [data-line]")!;
        Assert.Equal(("2026-11-22", "0,9,0,5;0,4,0,5"), (figure.GetAttribute("data-first"), figure.GetAttribute("data-values")));
        Assert.Equal(["people: 5", "signed in: 5"], figure.QuerySelectorAll(".ends text").Select(t => t.Words()));
        // 200 px high, 30 of them over the highest: nine people are 170 px above the foot, five 94.
        Assert.Equal("M0 200L333.3 30L666.7 200L1000 105.6", figure.QuerySelector("path.line-0")!.GetAttribute("d"));
        Assert.Equal("23 Nov: 9", figure.QuerySelector("svg.plot > text")!.Words());
        Assert.Contains("Highest: 23 Nov: 9.", figure.QuerySelector("title")!.Words(), StringComparison.Ordinal);
        // Who fetched both is in both; of days counted before that was kept nothing is known.
        Assert.Equal(["Day|People|of them signed in|for something free|for something of members", "25 November 2026|5|5|4|2", "24 November 2026|0|0|0|0", "23 November 2026|9|4||", "22 November 2026|0|0|0|0"], page.QuerySelectorAll("#people-table tr").Select(Row));
        Assert.Equal("day,people,signed_in,free,members\r\n2026-11-22,0,0,0,0\r\n2026-11-23,9,4,,\r\n2026-11-24,0,0,0,0\r\n2026-11-25,5,5,4,2\r\n", await FileAsync(maker, page, "People by day"));
        // Yellow is for now alone: a range that ended earlier has its last point in ink.
        Assert.Equal("day,people,signed_in,free,members\r\n2026-10-10,0,0,0,0\r\n2026-10-11,0,0,0,0\r\n2026-10-12,0,0,0,0\r\n2026-10-13,0,0,0,0\r\n", await FileAsync(maker, await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-22&against=2026-10-10"), "People by day beside it"));
        Assert.Equal(["last now", "last"], (await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-22&against=2026-10-10")).QuerySelectorAll("figure circle").Select(c => c.ClassName));
        // One script from here and its page of styles, nothing inline; it is on this page alone.
        Assert.Single(page.QuerySelectorAll("script[src*='/vendor/uplot/']"));
        Assert.Null((await maker.PageAsync("/workbench/numbers/libraries")).QuerySelector("script[src*=uplot], link[href*=uplot]"));

        var one = await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-22&library=tin-roof");
        Assert.Equal("0,0,0,2;0,0,0,1", one.QuerySelector("figure [data-line]")!.GetAttribute("data-values"));
        // Of a longer range the table has the day with most of each week; the file has every day.
        var year = await maker.PageAsync("/workbench/numbers/downloads?from=2026-08-01");
        Assert.Contains("week of 23 November 2026|23 November 2026|9|4||", year.QuerySelectorAll("#people-table tr").Select(Row));
        Assert.Equal(117, (await FileAsync(maker, year, "People by day")).Split("\r\n").Length - 2);
    }

    [Fact]
    public async Task Sums_and_people_of_months_have_files_with_both_ranges()
    {
        await using var host = await HostAsync((db, library, release) =>
        {
            db.DayCounts.AddRange(
                new DayCount { Day = Today, LibraryId = library, ReleaseId = release, By = FetchedBy.Free, Started = 1_200, Finished = 1_100, Ended = 1_100, Requests = 1_300, Resumes = 7, Bytes = 2_000_000_000 },
                new DayCount { Day = Today, LibraryId = library, ReleaseId = release, By = FetchedBy.Members, Started = 30, Finished = 20, Ended = 20, Requests = 30, Bytes = 500_000_000 },
                new DayCount { Day = Today.PlusDays(-10), LibraryId = library, ReleaseId = release, By = FetchedBy.Robots, Started = 99, Finished = 9, Bytes = 5 });
            db.MonthPeople.Add(new MonthPeople { Month = new(2026, 11), SignedIn = 12, Free = 7, Members = 9 });
            db.MonthPeople.Add(new MonthPeople { Month = new(2026, 10), SignedIn = 4, Free = 4, Members = 0 });
            foreach (var (day, word, times) in new[] { (Today, "206", 8), (Today.PlusDays(-11), "416", 2), (Today.PlusDays(-40), "200", 3) })
                db.Sightings.Add(new Sighting { Day = day, Kind = SightingKind.Answer, Word = word, Times = times });
            db.Shops.Single().GigabytePrice = 5_000;
        });
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-20&against=2026-11-10");
        var file = (await FileAsync(maker, page, "In sums")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal("figure,from,to,value,beside_from,beside_to,beside", file[0]);
        Assert.Contains("finished_free,2026-11-20,2026-11-25,1100,2026-11-10,2026-11-15,0", file);
        Assert.Contains("finished_members,2026-11-20,2026-11-25,20,2026-11-10,2026-11-15,0", file);
        Assert.Equal(
            ["started_free 1200", "started_members 30", "requests_free 1300", "requests_members 30", "resumes_free 7", "resumes_members 0"],
            file.Select(l => l.Split(',')).Where(l => l[0].Split('_') is ["started" or "requests" or "resumes", "free" or "members"]).Select(l => $"{l[0]} {l[3]}"));
        Assert.Contains("bytes,2026-11-20,2026-11-25,2500000000,2026-11-10,2026-11-15,5", file);
        Assert.Contains("started_by_robots,2026-11-20,2026-11-25,0,2026-11-10,2026-11-15,99", file);
        // 2.5 of 10^9 bytes at 0.005 each.
        Assert.Contains(file, l => l.StartsWith("cost_", StringComparison.Ordinal) && l.Contains(",2026-11-25,0.0125,", StringComparison.Ordinal));
        Assert.Equal(page.QuerySelectorAll("[aria-label=Sums] tbody tr").Length, file.Length - 1);
        Assert.Contains("bytes_free,2026-11-20,2026-11-25,2000000000,2026-11-10,2026-11-15,0", file);
        Assert.Contains("bytes_members,2026-11-20,2026-11-25,500000000,2026-11-10,2026-11-15,0", file);
        // How they differ, and what is counted by the day of the start says so (docs/counting.md).
        var sums = page.QuerySelectorAll("[aria-label=Sums] tbody tr").Select(r => (What: r.QuerySelector("th")!.Words(), Cells: r.QuerySelectorAll("td").Select(c => c.Words()).ToList())).ToList();
        Assert.Equal(["1,120", "0", "none beside"], sums.Single(s => s.What == "Finished").Cells[..3]);
        Assert.Equal(["0", "99", "none now"], sums.Single(s => s.What == "Robots").Cells[..3]);
        Assert.EndsWith("times as many", sums.Single(s => s.What == "Handed over").Cells[2], StringComparison.Ordinal);
        Assert.All(sums.Where(s => s.What is "Requests" or "Went on after a break" or "Handed over" or "What that costs"), s => Assert.Contains("of downloads started in these days", s.Cells[3], StringComparison.Ordinal));
        Assert.Equal("Tin Roof|all|1230|1120|1100|20|0|0", Row(page.QuerySelector("#versions tbody tr")!));
        Assert.Equal("month,signed_in,free,members\r\n2026-11,12,7,9\r\n", await FileAsync(maker, page, "Signed-in people by month"));
        Assert.Equal(["November 2026|12|7|9"], page.QuerySelectorAll("#months tbody tr").Select(Row));
        // These too stand beside each other, with their files; people of a month are whole months'.
        Assert.Equal(["206, a part of it|8"], page.QuerySelectorAll("#answers tbody tr").Select(Row));
        Assert.Equal(["416, a part beyond its end|2"], page.QuerySelectorAll("#answers-beside tbody tr").Select(Row));
        Assert.Equal("answer,times\r\n416,2\r\n", await FileAsync(maker, page, "What links were answered in the days beside"));
        var october = await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-20&against=2026-10-10");
        Assert.All(october.QuerySelectorAll("[aria-label=Sums] tbody tr"), r => Assert.NotEqual("not over yet", r.QuerySelectorAll("td")[2].Words()));
        var running = await maker.PageAsync("/workbench/numbers/downloads?from=2026-11-01&to=2026-11-10&against=2026-11-20");
        Assert.All(running.QuerySelectorAll("[aria-label=Sums] tbody tr"), r => Assert.Equal("not over yet", r.QuerySelectorAll("td")[2].Words()));
        // Of these days there was none, of those beside them there was.
        Assert.Equal("Tin Roof|all|0|0|0|0|1230|1120", Row(running.QuerySelector("#versions tbody tr")!));
        Assert.Equal(["October 2026|4|4|0"], october.QuerySelectorAll("#months-beside tbody tr").Select(Row));
        Assert.Equal("month,signed_in,free,members\r\n2026-10,4,4,0\r\n", await FileAsync(maker, october, "Signed-in people by month beside it"));
        var alone = (await maker.GetStringAsync("/workbench/numbers/downloads?handler=SumsCsv&from=2026-11-20")).Split("\r\n");
        Assert.Contains("finished,2026-11-20,2026-11-25,1120,,,", alone);
    }

    [Fact]
    public async Task Boxes_of_two_ranges_stand_beside_each_other()
    {
        await using var host = await HostAsync((db, library, release) => db.DayCounts.AddRange(
            new DayCount { Day = new(2026, 11, 10), LibraryId = library, ReleaseId = release, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 40, Finished = 33, Ended = 33, Resumes = 2 },
            new DayCount { Day = new(2026, 10, 10), LibraryId = library, ReleaseId = release, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 30, Finished = 30, Ended = 30 },
            new DayCount { Day = new(2026, 10, 11), LibraryId = library, ReleaseId = release, Kind = FetchedKind.Update, By = FetchedBy.Members, Started = 4, Finished = 4, Ended = 4 }));
        var page = await (await host.MakerAsync()).PageAsync("/workbench/numbers/libraries?from=2026-11-01&to=2026-11-20&against=2026-10-01");
        Assert.EndsWith("Whole libraries finished: 33, beside 30 in the 20 days from 1 October 2026: 10 % more. Updates: 0 beside 4, none now.", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(
            ["What|These days|From 1 October 2026|Difference", "Whole libraries finished|33|30|10 % more", "Updates finished|0|4|none now", "Begun, a week ago or longer|40|34|not as long: 17 days, 20 days", "of them never finished|7|0|not as long: 17 days, 20 days", "Went on after a break|2|0|not as long: 17 days, 20 days", "Came from another site|0|0|none in both", "Looked for in vain|0|0|none in both"],
            page.QuerySelectorAll("#beside tr").Select(Row));
        Assert.Equal("Tin Roof||33|0|33|0|40|7 (18 %)|2||30|4|34|0", Row(page.QuerySelector("#boxes tbody tr")!));
        Assert.Equal("2026-10-01", page.QuerySelector("#against")!.GetAttribute("value"));
        // Drawn one under the other in one scale, solid and outlined: 30 are 90.909 % of 33; of 40 begun 7 were not finished, of 34 none.
        Assert.Equal(
            ["Tin Roof: 33 at 100% solid, 30 at 90.909% outlined", "Tin Roof: 0 at 0% solid, 4 at 100% outlined", "Tin Roof: 18 % of 40 at 100% solid, 0 % of 34 at 0% outlined"],
            page.QuerySelectorAll(".figure-bars > div").Select(d => $"{d.QuerySelector("dt")!.Words()}: {string.Join(", ", d.QuerySelectorAll("dd").Select(b => $"{b.QuerySelector("span")!.Words().Replace("beside: ", "", StringComparison.Ordinal)} at {b.QuerySelector("rect")!.GetAttribute("width")} {(b.QuerySelector("rect[fill=none]") is null ? "solid" : "outlined")}"))}"));
        // Up to the 17th all are a week old, so as many days are held against each other.
        var settled = await (await host.MakerAsync()).PageAsync("/workbench/numbers/libraries?from=2026-11-01&to=2026-11-17&against=2026-10-01");
        Assert.Contains("Begun, a week ago or longer|40|34|18 % more", settled.QuerySelectorAll("#beside tr").Select(Row));
    }

    /// <summary>Each row of these days with the same of the days beside; what was seen then alone stands in their file.</summary>
    [Fact]
    public async Task Hosts_and_searches_of_two_ranges_stand_beside_each_other()
    {
        await using var host = await HostAsync((db, library, _) =>
        {
            foreach (var (day, kind, box, word, times) in new[]
            {
                (new LocalDate(2026, 11, 10), SightingKind.Referrer, library, "reeds.example", 33), (new(2026, 10, 10), SightingKind.Referrer, library, "reeds.example", 30),
                (new(2026, 11, 11), SightingKind.Referrer, 0, "reeds.example", 2), (new(2026, 10, 11), SightingKind.Referrer, 0, "dunes.example", 1_500),
                (new(2026, 11, 10), SightingKind.Search, 0, "bowed saw", 1), (new(2026, 10, 19), SightingKind.Search, 0, "zither", 4),
                (new(2026, 11, 12), SightingKind.Search, 0, Sightings.Others, 30), (new(2026, 10, 12), SightingKind.Search, 0, Sightings.Others, 20),
            })
            {
                db.Sightings.Add(new Sighting { Day = day, Kind = kind, LibraryId = box, Word = word, Times = times });
                db.MonthSightings.Add(new MonthSighting { Month = day.ToYearMonth(), Kind = kind, LibraryId = box, Word = word, Times = times });
            }
        });
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/libraries?from=2026-11-01&to=2026-11-20&against=2026-10-01");
        Assert.Equal(["Host|To|Times|Beside|Difference", "reeds.example|Tin Roof|33|30|10 % more", "reeds.example|The shelf|2|0|none beside"], page.QuerySelectorAll("#came-from tr").Select(Row));
        Assert.Equal(["Words|Times|Beside|Difference", "(others)|30|20|not the same ones", "bowed saw|1|0|none beside"], page.QuerySelectorAll("#searches tr").Select(Row));
        // The same as bars; rarer ones that stand together are held against nothing.
        Assert.Equal(["reeds.example, to Tin Roof|33|beside: 30", "reeds.example|2|beside: 0"], Bars("#came-from"));
        Assert.Equal(["(others)|30", "bowed saw|1|beside: 0"], Bars("#searches"));
        Assert.Equal(["Came from another site|35|1,530|98 % fewer", "Looked for in vain|31|24|29 % more"], page.QuerySelectorAll("#beside tbody tr").TakeLast(2).Select(Row));
        Assert.Equal("host,title,times\r\ndunes.example,,1500\r\nreeds.example,Tin Roof,30\r\n", await maker.GetStringAsync(page.QuerySelector("#came-from-beside a")!.GetAttribute("href")));
        Assert.Equal("looked_for,times\r\n(others),20\r\nzither,4\r\n", await maker.GetStringAsync(page.QuerySelector("#searches-beside a")!.GetAttribute("href")));
        Assert.StartsWith("Where a day had very many different ones,", page.QuerySelector("#searches-rest")!.Words(), StringComparison.Ordinal);
        // Where nothing came up in these days the other's file is led to all the same.
        var empty = await maker.PageAsync("/workbench/numbers/libraries?from=2026-11-21&to=2026-11-22&against=2026-10-10");
        Assert.Contains("All hosts of the days beside stand in ", empty.QuerySelector("main")!.Words(), StringComparison.Ordinal);
        Assert.Contains("Nobody came from another site in these days", empty.QuerySelector("main")!.Words(), StringComparison.Ordinal);
        // A shelf that was there more than thirteen months ago has let go of what was seen then: that is not none, and is held against nothing.
        await host.WithDbAsync(db =>
        {
            db.DayRolls.Add(new DayRoll { Day = new(2024, 1, 1), Changed = 1, Rolled = 1 });
            return db.SaveChangesAsync();
        });
        var swept = await maker.PageAsync("/workbench/numbers/libraries?from=2025-10-01&to=2026-11-20&against=2025-10-01");
        Assert.Contains("Looked for in vain|55|55|not all kept any more", swept.QuerySelectorAll("#beside tbody tr").Select(Row));
        Assert.Contains("of days before 25 October 2025 none is kept", swept.QuerySelector("#searches-rest")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("beside:", swept.QuerySelector("#searches")!.Closest("figure")!.Words(), StringComparison.Ordinal);
        var gone = (await maker.PageAsync("/workbench/numbers/libraries?from=2025-09-01&to=2025-09-20")).QuerySelector("main")!.Words();
        Assert.Contains("No host is known of these days.", gone, StringComparison.Ordinal);
        Assert.Contains("of days before 25 October 2025 none is kept", gone, StringComparison.Ordinal);

        IEnumerable<string> Bars(string table) => page.QuerySelector(table)!.Closest("figure")!.QuerySelectorAll(".figure-bars > div").Select(bar => string.Join('|', bar.QuerySelectorAll("dt, dd > span").Select(s => s.Words())));
    }

    [Fact]
    public async Task Boxes_of_days_that_are_not_over_are_said_and_no_difference_is()
    {
        await using var host = await HostAsync((db, library, release) => db.DayCounts.AddRange(
            new DayCount { Day = new(2026, 10, 1), LibraryId = library, ReleaseId = release, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 40, Finished = 33, Ended = 33 },
            new DayCount { Day = Today, LibraryId = library, ReleaseId = release, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 30, Finished = 30, Ended = 30 }));
        var page = await (await host.MakerAsync()).PageAsync("/workbench/numbers/libraries?from=2026-10-01&to=2026-10-20&against=2026-11-20");
        Assert.EndsWith("Whole libraries finished: 33, beside 30 in the 6 days from 20 November 2026, which are not over. Updates: 0 beside 0.", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(
            ["Whole libraries finished|33|30|not over yet", "Updates finished|0|0|not over yet", "Begun, a week ago or longer|40|0|not as long: 20 days, 0 days", "of them never finished|7|0|not as long: 20 days, 0 days", "Went on after a break|0|0|not as long: 20 days, 0 days", "Came from another site|0|0|not over yet", "Looked for in vain|0|0|not over yet"],
            page.QuerySelectorAll("#beside tbody tr").Select(Row));
    }

    /// <summary>Of the days to the last of September nothing is known; of those from the day after on something is of their last.</summary>
    [Fact]
    public async Task Days_that_are_not_known_are_compared_with_none_and_that_is_said()
    {
        await using var host = await HostAsync();
        var maker = await host.MakerAsync();
        foreach (var path in new[] { "downloads", "libraries" })
        {
            var ahead = await maker.PageAsync($"/workbench/numbers/{path}?from=2026-11-01&to=2026-11-10&against=2026-11-26");
            Assert.EndsWith(" Nothing stands beside it: 26 November 2026 has not come yet.", ahead.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
            Assert.Equal("2026-11-26", ahead.QuerySelector("#against")!.GetAttribute("value"));
            Assert.EndsWith(" 26 November 2026 has not come yet: 25 November 2026 is shown.", (await maker.PageAsync($"/workbench/numbers/{path}?from=2026-11-26")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
            Assert.DoesNotContain("has not come yet", (await maker.PageAsync($"/workbench/numbers/{path}?from=2026-11-20&to=2026-12-20&against=2026-11-20")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
            var unknown = await maker.PageAsync($"/workbench/numbers/{path}?from=2026-11-01&to=2026-11-10&against=2026-09-21");
            Assert.EndsWith(" Nothing stands beside it: of days before 1 October 2026 nothing is known.", unknown.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
            Assert.Equal("2026-09-21", unknown.QuerySelector("#against")!.GetAttribute("value"));
            Assert.DoesNotContain("30 September 2026", unknown.QuerySelector("main")!.Words(), StringComparison.Ordinal);
            Assert.Contains("1 October 2026", (await maker.PageAsync($"/workbench/numbers/{path}?from=2026-11-01&to=2026-11-10&against=2026-09-22")).QuerySelector("main")!.Words(), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Days_that_are_counted_anew_are_said_of_boxes_too()
    {
        await using var host = await HostAsync((db, _, _) => db.DayRolls.AddRange(new DayRoll { Day = Today, Changed = 1 }, new DayRoll { Day = Today.PlusDays(-1), Changed = 1 }));
        foreach (var page in new[] { "", "/downloads", "/libraries", "/versions" })
            Assert.StartsWith("Days are being counted anew, the newest first: 1 of 3 days. Until then the others show nothing.",
                (await (await host.MakerAsync()).PageAsync("/workbench/numbers" + page)).QuerySelector("[data-far=counting]")!.Words(), StringComparison.Ordinal);
    }

    // By hand: 33 is 10 % more than 30; 100 of 30 is 3.3 times as many; of fewer than ten the difference itself is said.
    [Theory]
    [InlineData(33, 30, "10 % more")]
    [InlineData(27, 30, "10 % fewer")]
    [InlineData(30, 30, "as many")]
    [InlineData(1000, 1001, "about as many")]
    [InlineData(0, 0, "none in both")]
    [InlineData(5, 0, "none beside")]
    [InlineData(0, 5, "none now")]
    [InlineData(2, 1, "1 more")]
    [InlineData(9, 30, "21 fewer")]
    [InlineData(100, 30, "3.3 times as many")]
    [InlineData(30, 10, "3 times as many")]
    public void A_difference_is_said_as_people_say_it(int these, int those, string words) => Assert.Equal(words, Beside.Change(these, those));

    [Fact]
    public void Ends_of_lines_keep_apart_and_a_day_without_a_value_breaks_the_line()
    {
        var plot = new LinePlot("a", "Share", Today.PlusDays(-3), [new("on 2.0.0", [null, 40, null, 100]), new("other", [1, 2, 3, 99])], isPercent: true);
        Assert.Equal(["M333.3 132M1000 30", "M0 198.3L333.3 196.6L666.7 194.9L1000 31.7"], plot.Paths);
        Assert.Equal([("on 2.0.0: 100 %", 30), ("other: 99 %", 50)], plot.Ends.Select(e => (e.Words.Replace('\u00a0', ' '), e.Y)));
        Assert.Null(plot.Peak);
        Assert.Equal(",40,,100;1,2,3,99", plot.Values);
        // At the foot there is no room beneath: the upper one moves up.
        var low = new LinePlot("b", "People", Today.PlusDays(-1), [new("people", [10, 0]), new("signed in", [1, 0])]);
        Assert.Equal([176, 196], low.Ends.Select(e => e.Y));
        Assert.Equal("24 Nov: 10", low.Peak!.Name.Words);
        Assert.Equal("M1000 30", new LinePlot("c", "One", Today, [new("people", [4])]).Paths.Single());
    }

    /// <summary>The file that a link of the page leads to.</summary>
    private static Task<string> FileAsync(HttpClient maker, IDocument page, string name) =>
        maker.GetStringAsync(new Uri(page.QuerySelectorAll("a").First(a => a.Words() == name + ", CSV").GetAttribute("href")!, UriKind.Relative));
}
