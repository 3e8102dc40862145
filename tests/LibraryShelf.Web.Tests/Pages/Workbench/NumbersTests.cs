using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class NumbersTests
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    private static async Task<ShelfHost> HostAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        return host;
    }

    private static Task StockAsync(ShelfHost host, string slug, string title, string number, params (int DaysAgo, bool Finished)[] downloads) =>
        host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = slug, Title = title };
            library.Releases.Add(new Release { Number = number });
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            foreach (var ((daysAgo, finished), i) in downloads.Select((d, i) => (d, i)))
            {
                var at = Now.AddDays(-daysAgo);
                db.Downloads.Add(new Download { Id = slug + i, ReleaseId = library.Releases[0].Id, LibraryId = library.Id, Why = MayDownloadWhy.Free, StartedAt = at });
                db.DownloadTallies.Add(new DownloadTally { DownloadId = slug + i, StartedAt = at, FinishedAt = finished ? at : null });
            }
            await db.SaveChangesAsync();
            await db.DayRolls.ExecuteDeleteAsync();
            await new RollUpDays(db, host.Clock!).RunAsync(default);
        });

    [Fact]
    public async Task A_shelf_without_downloads_says_so()
    {
        await using var host = await HostAsync();
        var page = await (await host.MakerAsync()).PageAsync("/workbench/numbers/downloads");
        Assert.Contains("No downloads finished in 60 days, 0 started.", page.QuerySelector("main")!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("svg.plot"));
    }

    [Fact]
    public async Task Sentences_bars_and_tables_tell_the_same()
    {
        await using var host = await HostAsync();
        await StockAsync(host, "mended-kettle", "Mended Kettle", "1.0.0", (0, true), (3, true), (3, true), (3, false));
        await StockAsync(host, "tin-roof", "Tin Roof", "2.1.0", (10, true));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads");
        Assert.Equal("Four downloads finished in 60 days, 5 started. Most finished: Mended Kettle 1.0.0, 3 times.", page.QuerySelector("p.said")!.Words());
        Assert.Equal(3, page.QuerySelectorAll("svg.plot rect").Length);
        Assert.Contains(page.QuerySelectorAll("svg.plot text"), t => t.Words() == "22 Nov: 2");
        var table = page.QuerySelectorAll("details tr").Select(Row).ToList();
        Assert.Equal(61, table.Count);
        Assert.Contains("22 November 2026|3|2", table);
        var boxes = page.QuerySelectorAll("#versions tr").Select(Row).ToList();
        Assert.Equal(["Box|Version|Started|Finished|of them free|for members", "Mended Kettle|all|4|3|3|0", "|1.0.0|4|3|3|0", "Tin Roof|all|1|1|1|0", "|2.1.0|1|1|1|0"], boxes);

        var one = await maker.PageAsync("/workbench/numbers/downloads?library=tin-roof&from=2026-10-27");
        Assert.Equal("One download of Tin Roof finished in 30 days, 1 started.", one.QuerySelector("p.said")!.Words());
        Assert.Equal("tin-roof", one.QuerySelector("#library option[selected]")!.GetAttribute("value"));
        Assert.Equal("2026-10-27", one.QuerySelector("#from")!.GetAttribute("value"));
    }

    [Fact]
    public async Task The_figures_can_be_taken_away_as_a_plain_file()
    {
        await using var host = await HostAsync();
        await StockAsync(host, "kettle", "=Kettle, \"mended\"", "1.0.0", (0, true), (0, false), (3, true));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads");
        using var answer = await maker.GetAsync(new Uri(page.QuerySelector("a[href*='handler=Csv']")!.GetAttribute("href")!, UriKind.Relative));
        Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
        Assert.Equal(
            "day,box,title,version,started,finished,started_free,finished_free,started_members,finished_members\r\n"
            + "2026-11-22,kettle,\"'=Kettle, \"\"mended\"\"\",1.0.0,1,1,1,1,0,0\r\n"
            + "2026-11-25,kettle,\"'=Kettle, \"\"mended\"\"\",1.0.0,2,1,2,1,0,0\r\n",
            await answer.Content.ReadAsStringAsync());
    }

    [Fact]
    public void Bars_fill_the_height_and_the_names_of_peaks_keep_apart()
    {
        var first = new LocalDate(2026, 9, 27);
        var days = Enumerable.Range(0, 60).Select(i => new DayFigures(first.PlusDays(i), 9, i is 0 or 1 or 59 ? 100 - i : i == 30 ? 24 : 0)).ToList();
        var bars = new DayBars(DayBuckets.Of(days));
        Assert.Equal(4, bars.Bars.Count);
        Assert.All(bars.Bars, b => Assert.Equal(DayBars.Height, b.Y + b.Height));
        Assert.All(bars.Bars, b => Assert.InRange(b.Height, 1, DayBars.Height - 20));
        Assert.Equal(["27 Sep: 100|start", "25 Nov: 41|end"], bars.Peaks.Select(p => $"{p.Name.Words}|{p.Anchor}"));
    }

    /// <summary>A name is up to three tenths of a phone's picture wide: within half of that on either side no bar may be higher than the one it names.</summary>
    [Theory]
    [InlineData(45, "17 Oct: 100")]
    [InlineData(46, "17 Oct: 100|12 Nov: 50")]
    public void A_peak_is_named_only_where_no_higher_bar_crosses_its_name(int last, string named)
    {
        var first = new LocalDate(2026, 9, 27);
        var days = Enumerable.Range(0, 60).Select(i => new DayFigures(first.PlusDays(i), 99, i switch { 20 => 100, 36 => 60, _ => i == last ? 50 : 0 })).ToList();
        Assert.Equal(named, string.Join('|', new DayBars(DayBuckets.Of(days)).Peaks.Select(p => p.Name.Words)));
    }

    [Theory]
    [InlineData("day", "d", "", "1 Nov drop: 473 / 1 Nov drop: 473 / 1 Nov drop: 473")]
    [InlineData("day", "v", "d", "1 Nov, Jars 2.0.0 out: 473 / Jars 2.0.0 out: 473 / 2.0.0 out: 473")]
    [InlineData("day", "dv", "", "1 Nov drop: 473 / 1 Nov drop: 473 / 1 Nov drop: 473")]
    [InlineData("day", "vvv", "", "1 Nov, 3 versions out: 473 / 3 versions out: 473 / 1 Nov: 473")]
    [InlineData("day", "", "v", "1 Nov, after Jars 2.0.0: 473 / after Jars 2.0.0: 473 / after 2.0.0: 473")]
    [InlineData("day", "", "dv", "1 Nov, after the drop: 473 / 1 Nov, after the drop: 473 / 1 Nov: 473")]
    [InlineData("day", "", "vv", "1 Nov, after 2 versions: 473 / after 2 versions: 473 / 1 Nov: 473")]
    [InlineData("day", "l", "", "1 Nov, Jars from the attic of the parish hall 2.0.0-beta.1 out: 473 / 1 Nov: 473 / 1 Nov: 473")]
    [InlineData("week", "d", "v", "1 Nov, drop: 473 / 1 Nov, drop: 473 / 1 Nov: 473")]
    [InlineData("week", "vd", "", "1 Nov, drop: 473 / 1 Nov, drop: 473 / 1 Nov: 473")]
    [InlineData("week", "vvv", "", "1 Nov, 3 versions out: 473 / 1 Nov, 3 versions out: 473 / 1 Nov: 473")]
    [InlineData("month", "vdv", "", "1 Nov, drop: 473 / 1 Nov, drop: 473 / 1 Nov: 473")]
    [InlineData("week", "", "d", "1 Nov: 473 / 1 Nov: 473 / 1 Nov: 473")]
    [InlineData("month", "v", "", "1 Nov, Jars 2.0.0 out: 473 / 1 Nov, Jars 2.0.0 out: 473 / 1 Nov: 473")]
    [InlineData("day", "", "", "1 Nov: 473 / 1 Nov: 473 / 1 Nov: 473")]
    public void A_peak_says_what_came_out_in_words_that_fit(string unit, string came, string before, string said)
    {
        var name = PeakName.Of("1 Nov", "473", unit == "day", Of(came), Of(before));
        Assert.Equal(said, $"{name.Words} / {name.Wide} / {name.Tight}");

        static List<CameOut> Of(string letters) => [.. letters.Select(l => l switch
        {
            'd' => new CameOut(default, "", "", new YearMonth(2026, 11)),
            'l' => new CameOut(default, "Jars from the attic of the parish hall", "2.0.0-beta.1", null),
            _ => new CameOut(default, "Jars", "2.0.0", null),
        })];
    }

    /// <summary>Up to Wednesday, 25 November 2026: the week of the hundredth day back began on the Monday before it, the month of the 736th nineteen days before.</summary>
    [Theory]
    [InlineData(10, "16 Nov, after Bells 0.9.0: 1", "16 Nov, Bells 1.0.0 out: 1")]
    [InlineData(100, "week of 17 Aug: 6", "week of 17 Aug, Bells 1.0.0 out: 6")]
    [InlineData(736, "Nov 2024: 11", "Nov 2024, Bells 1.0.0 out: 11")]
    public void What_came_on_the_day_before_the_days_is_in_none_of_them(int count, string before, string with)
    {
        var first = new LocalDate(2026, 11, 25).PlusDays(1 - count);
        List<DayFigures> days = [.. Enumerable.Range(0, count).Select(i => new DayFigures(first.PlusDays(i), 1, 1))];
        var (early, own) = (new CameOut(first.PlusDays(-1), "Bells", "0.9.0", null), new CameOut(first, "Bells", "1.0.0", null));
        var without = DayBuckets.Of(days, [early]);
        Assert.Equal((before, false, ""), (without.NameOf(0).Words, without.HasCame, PeakName.Table(without.CameIn(0))));
        var both = DayBuckets.Of(days, [early, own]);
        Assert.Equal((with, true, "Bells 1.0.0"), (both.NameOf(0).Words, both.HasCame, PeakName.Table(both.CameIn(0))));
    }

    /// <summary>A phone's picture is 358 px wide: three of "12" have room, twelve of "£372" have not, and the last one's stands within its column's right edge.</summary>
    [Fact]
    public void Columns_say_all_their_figures_on_a_phone_where_they_fit_else_the_highest_and_the_last()
    {
        Assert.All(new Columns("Leaving", [.. new[] { 1, 12, 3 }.Select(n => new Column("Jan", "J", n, $"{n}"))]).Places, p => Assert.Equal((true, null), (p.HasRoom, p.Tight)));
        var tight = new Columns("Income", [.. Enumerable.Range(1, 12).Select(n => new Column("Jan", "J", n == 5 ? 99 : n, $"£3{n:00}"))]).Places;
        Assert.All(tight, p => Assert.False(p.HasRoom));
        Assert.Equal(["4: 37.5% middle", "11: 99.167% end"], tight.Select((p, i) => (p.Tight, i)).Where(p => p.Tight is not null).Select(p => $"{p.i}: {p.Tight!.Value.X} {p.Tight.Value.Anchor}"));
    }

    /// <summary>Fourteen months are two and a year, in one scale and in columns of one width: none is left out.</summary>
    [Fact]
    public void Income_of_more_than_a_year_is_drawn_a_year_to_a_row()
    {
        var (first, last) = (new YearMonth(2025, 10), new YearMonth(2026, 11));
        List<MembersMonth> months = [.. Enumerable.Range(0, 14).Select(n => new MembersMonth(first.PlusMonths(n), true, 0, 0, 0, 0, 0, 0, 0, null, null, [new MonthlyIncome("GBP", (n + 1) * 100, 1)]))];
        var rows = MemberColumns.Income(new(first, last, first, last, "UTC", 0, 0, 0, first, [], months, [], [], []), "GBP")!;
        Assert.Equal(["Oct 25|Nov", "Dec|Jan 26|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov"], rows.Select(r => string.Join('|', r.Places.Select(p => p.Column.Label.Replace("'", "", StringComparison.Ordinal)))));
        Assert.Equal(["6.667%"], rows.SelectMany(r => r.Places).Select(p => p.Width).Distinct());
        Assert.Equal((7, 96), (rows[0].Places[0].Height, rows[1].Places[11].Height));
    }

    [Fact]
    public async Task Two_ranges_stand_beside_each_other()
    {
        await using var host = await HostAsync();
        await StockAsync(host, "tin-roof", "Tin Roof", "2.1.0", (0, true), (1, true), (2, true), (30, true), (31, true), (31, false));
        var page = await (await host.MakerAsync()).PageAsync("/workbench/numbers/downloads?from=2026-11-19&to=2026-11-25&against=2026-10-22");
        Assert.Equal("Three downloads finished in 7 days, 3 started. That is 1 more than in the 7 days from 22 October 2026, which had 2.", page.QuerySelector("p.said")!.Words());
        Assert.StartsWith("Started|3|3|", page.QuerySelectorAll("[aria-label=Sums] tr").Select(Row).Single(r => r.StartsWith("Started|", StringComparison.Ordinal)), StringComparison.Ordinal);
        Assert.StartsWith("Finished|3|2|", page.QuerySelectorAll("[aria-label=Sums] tr").Select(Row).Single(r => r.StartsWith("Finished|", StringComparison.Ordinal)), StringComparison.Ordinal);
        // One scale: a day with one finished download is as high in both.
        Assert.Single(page.QuerySelectorAll("svg.plot rect").Select(r => r.GetAttribute("height")).Distinct(StringComparer.Ordinal));
        Assert.StartsWith("Five downloads finished in 60 days, 6 started.", (await (await host.MakerAsync()).PageAsync("/workbench/numbers")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }

    // Weeks begin on Monday (ISO 8601): 25 November 2026 is a Wednesday, and the week from 23 November is cut off by it.
    [Fact]
    public void Long_ranges_are_shown_by_weeks_and_months_and_lose_nothing()
    {
        var last = new LocalDate(2026, 11, 25);
        foreach (var (count, unit) in new[] { (92, "day"), (93, "week"), (735, "week"), (736, "month"), (1827, "month") })
        {
            var days = Enumerable.Range(0, count).Select(i => new DayFigures(last.PlusDays(i + 1 - count), 2, 1)).ToList();
            var buckets = DayBuckets.Of(days);
            Assert.Equal(unit, buckets.Unit);
            Assert.Equal((2 * count, count), (buckets.Bars.Sum(b => b.Started), buckets.Bars.Sum(b => b.Finished)));
            Assert.All(buckets.Bars, b => Assert.True(unit != "week" || b.Day.DayOfWeek == IsoDayOfWeek.Monday));
            Assert.All(buckets.Bars, b => Assert.True(unit != "month" || b.Day.Day == 1));
            Assert.InRange(buckets.Bars.Count, 1, 123);
        }
        Assert.Equal("week of 23 Nov", DayBuckets.Of([.. Enumerable.Range(0, 100).Select(i => new DayFigures(last.PlusDays(i - 99), 1, 1))]) is var weeks ? weeks.Short(weeks.Bars[^1]) : "");
    }
}
