using System.Globalization;
using System.Text.Json;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Tests.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>A shop in New Zealand with downloads on <see cref="OddDaysTests.Days"/>, and with <see cref="OddMonth"/>; all of it counted.</summary>
public sealed class OddHost : IAsyncLifetime
{
    public ShelfHost Host { get; } = new() { Clock = new(new DateTimeOffset(2028, 3, 3, 12, 0, 0, TimeSpan.Zero)) };

    public async Task InitializeAsync()
    {
        await Host.ClaimAsync();
        await Host.MakerAsync();
        await Host.WithDbAsync(OddDaysTests.FillAsync);
        await Host.WithDbAsync(OddMonth.FillAsync);
        await Host.RunAsync<CountDownloads, int>(count => count.RunAsync(default));
        await Host.RunAsync<RollUpDays, int>(roll => roll.RunAsync(default));
        await Host.RunAsync<RollUpVersions, bool>(roll => roll.RunAsync(default));
        await Host.RunAsync<RollUpDrops, int>(roll => roll.RunAsync(default));
    }

    public async Task DisposeAsync() => await Host.DisposeAsync();
}

/// <summary>Page, file, what programs read and what is counted by hand, of days and months that are not like others, for a shop far from UTC.</summary>
public sealed class OddDaysTests(OddHost odd) : OddByHand(odd), IClassFixture<OddHost>
{
    private const long Length = 10;

    /// <summary>Midnights in Unix milliseconds by GNU date and the IANA tz database: TZ=Pacific/Auckland date -d '2026-04-05 00:00' +%s000. What is started and finished is by hand, see <see cref="FillAsync"/>.</summary>
    internal static readonly (string Day, string Words, int Hours, long From, long To, int Started, int Finished, int ByMembers)[] Days =
    [
        ("2026-04-05", "5 April 2026", 25, 1775300400000, 1775390400000, 3, 3, 0),
        ("2026-09-27", "27 September 2026", 23, 1790424000000, 1790506800000, 3, 3, 0),
        // Its last moment is where what is finished in the first one of the year was started.
        ("2027-12-31", "31 December 2027", 24, 1830164400000, 1830250800000, 4, 3, 0),
        ("2028-01-01", "1 January 2028", 24, 1830250800000, 1830337200000, 3, 4, 1),
        ("2028-02-29", "29 February 2028", 24, 1835348400000, 1835434800000, 3, 3, 0),
    ];

    [Fact]
    public async Task Days_with_23_and_25_hours_a_leap_day_and_the_turn_of_the_year_are_the_same_on_the_page_in_the_file_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        foreach (var (day, words, hours, from, to, started, finished, byMembers) in Days)
        {
            Assert.Equal(hours, (to - from) / 3_600_000);
            var address = $"/workbench/numbers/downloads?from={day}&to={day}";
            var page = await maker.PageAsync(address);
            Assert.Equal($"|1.0.0|{started}|{finished}|{finished - byMembers}|{byMembers}", Row(page.QuerySelectorAll("#versions tr")[^1]));
            Assert.Contains($"{words}|{started}|{finished}", page.QuerySelectorAll("details tr").Select(Row));
            Assert.Equal(
                $"day,box,title,version,started,finished,started_free,finished_free,started_members,finished_members\r\n{day},tin-roof,Tin Roof,1.0.0,{started},{finished},{started - 1},{finished - byMembers},1,{byMembers}\r\n",
                await maker.GetStringAsync(new Uri(address + "&handler=Csv", UriKind.Relative)));
            Assert.Contains(CountingDocument.Midnights, CountingDocument.OfADay, StringComparison.Ordinal);
            Assert.Equal([$"Tin Roof|1.0.0|{started}|{finished}"], await ByHandAsync(CountingDocument.OfADay, CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {from}, {to}")));
        }
        // What a member fetched in the middle of the year's last day was finished in the new year's first moment.
        Assert.Equal("|1.0.0|7|7|6|1", Row((await maker.PageAsync("/workbench/numbers/downloads?from=2027-12-31&to=2028-01-01")).QuerySelectorAll("#versions tr")[^1]));
    }

    /// <summary>
    /// Of each day: what was started in the moment before it and finished in its first; what was started in its first and finished in its last; in its middle, by a
    /// member, and finished in the next day's first; in its last, and finished at once. A robot's and the maker's are in none of the figures.
    /// </summary>
    internal static async Task FillAsync(Core.Data.ShelfDb db)
    {
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, "Pacific/Auckland"));
        var library = new Library { Slug = "tin-roof", Title = "Tin Roof" };
        library.Releases.Add(new Release { Number = "1.0.0" });
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive { Id = 1, ReleaseId = library.Releases[0].Id, RecipeSha256 = "r", Length = Length, FileName = "r.zip" });
        foreach (var (day, _, _, from, to, _, _, _) in Days)
        {
            var middle = (from + to) / 2;
            Add($"{day} before", from - 1, from, MayDownloadWhy.Free);
            Add($"{day} first", from, to - 1, MayDownloadWhy.Free);
            // Of the year's last day alone the next is looked at.
            Add($"{day} middle", middle, to, MayDownloadWhy.Member);
            Add($"{day} last", to - 1, to - 1, MayDownloadWhy.Free);
            Add($"{day} robot", middle, middle, MayDownloadWhy.Free, isRobot: true);
            Add($"{day} maker", middle, middle, MayDownloadWhy.Maker);
        }
        await db.SaveChangesAsync();

        void Add(string id, long starts, long ends, MayDownloadWhy why, bool isRobot = false)
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = library.Releases[0].Id, LibraryId = library.Id, Why = why, IsRobot = isRobot, StartedAt = DateTimeOffset.FromUnixTimeMilliseconds(starts) });
            db.DownloadEvents.AddRange(
                new DownloadEvent { DownloadId = id, From = 0, To = Length - 3, BeginsAnswer = true, At = DateTimeOffset.FromUnixTimeMilliseconds(starts) },
                new DownloadEvent { DownloadId = id, From = Length - 3, To = Length, At = DateTimeOffset.FromUnixTimeMilliseconds(ends) });
        }
    }

    /// <summary>Boxes: by hand five whole ones and an update in the month's last moment; of eight begun two were not finished.</summary>
    [Fact]
    public async Task Boxes_of_a_month_are_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        const string Range = "?from=2028-01-02&to=2028-01-31";
        var byHand = (await ByHandAsync(CountingDocument.OfBoxes, CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {OddMonth.From + OddMonth.Day}, {OddMonth.To}"))).Single(r => r.StartsWith("reed-cove|", StringComparison.Ordinal));
        Assert.Equal("reed-cove|5|1|8|2|1|10|20", byHand);
        var file = (await FileAsync(maker, "/workbench/numbers/libraries" + Range + "&handler=Csv")).Single(l => l[0] == "reed-cove");
        Assert.Equal(byHand, string.Join('|', new[] { 0, 3, 4, 5, 6, 9, 10, 11 }.Select(i => file[i])));
        var box = (await JsonAsync(maker, "libraries" + Range)).GetProperty("boxes").EnumerateArray().Single(b => b.GetProperty("slug").GetString() == "reed-cove");
        Assert.Equal(byHand, Fields(box, "slug", "finishedWhole", "finishedUpdates", "begun", "notFinished", "notFinishedAskedAgain", "notFinishedBytesCovered", "notFinishedBytesInAll"));
        // 2 of 8 are 25 in a hundred, 10 bytes of 20 half of it.
        Assert.Equal("Reed Cove|10 bytes|5|1|0|6|8|2 (25 %)|0|They came to 50 % of it, on average.", Row((await maker.PageAsync("/workbench/numbers/libraries" + Range)).QuerySelectorAll("#boxes tbody tr").Single(r => Row(r).StartsWith("Reed", StringComparison.Ordinal))));
    }

    /// <summary>Who took 1.1.0 in January's last moment had it then, who did in February's first a day later.</summary>
    [Fact]
    public async Task Who_has_the_latest_version_is_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        const string Range = "?library=reed-cove&from=2028-01-15&to=2028-02-02";
        var table = (await maker.PageAsync("/workbench/numbers/versions" + Range)).QuerySelectorAll("#latest tbody tr").Select(Row).Reverse().ToList();
        var file = await FileAsync(maker, "/workbench/numbers/versions" + Range + "&handler=LatestCsv");
        var json = (await JsonAsync(maker, "versions" + Range)).GetProperty("lines").EnumerateArray().Where(l => l.GetProperty("version").GetString() == "1.1.0").ToDictionary(l => l.GetProperty("day").GetString()!, l => Fields(l, "people", "of"));
        Assert.Equal((19, 19), (table.Count, file.Count));
        Assert.Contains(CountingDocument.Latest, CountingDocument.OfVersions, StringComparison.Ordinal);
        foreach (var (line, i) in file.Select((l, i) => (l, i)))
        {
            var byHand = Assert.Single(await ByHandAsync(CountingDocument.OfVersions, CountingDocument.Latest, string.Create(CultureInfo.InvariantCulture, $"SELECT 'reed-cove', '1.1.0', {OddMonth.From + ((15 + i) * OddMonth.Day)}"))).Split('|');
            Assert.Equal($"{byHand[0]},{byHand[1]}", string.Join(',', line[4..6]));
            Assert.Equal($"{byHand[1]}|{byHand[0]}", string.Join('|', table[i].Split('|')[1..3]));
            Assert.Equal(byHand[0] == "0" ? null : string.Join('|', byHand), json.GetValueOrDefault(line[0]));
        }
        Assert.Equal(["2028-01-15 0 2", "2028-01-31 4 5", "2028-02-01 5 5"], file.Where((_, i) => i is 0 or 16 or 17).Select(l => $"{l[0]} {l[4]} {l[5]}"));
    }

    /// <summary>A month of 31 days in which one joined in its first moment and left with its last, another was there from the moment before it; two touching times are one.</summary>
    [Theory]
    [InlineData("2028-01", OddMonth.From, OddMonth.To, "3|2|1|2")]
    [InlineData("2028-02", OddMonth.To, OddMonth.To + (29 * OddMonth.Day), "4|0|0|1")]
    public async Task Members_of_a_month_are_the_same_on_the_page_in_the_file_as_json_and_by_hand(string month, long from, long to, string said)
    {
        var maker = await Host.MakerAsync();
        var range = $"?from={month}&to={month}";
        Assert.Equal([said], await ByHandAsync(CountingDocument.OfMembers, CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {from}, {to}")));
        var line = Assert.Single(await FileAsync(maker, "/workbench/numbers/members" + range + "&handler=Csv"));
        Assert.Equal(said, $"{line[2]}|{line[4]}|{line[6]}|{line[7]}");
        Assert.Equal(said, Fields((await JsonAsync(maker, "members" + range)).GetProperty("months").EnumerateArray().Single(), "atStart", "joined", "returned", "left"));
        var row = Row((await maker.PageAsync("/workbench/numbers/members" + range)).QuerySelector("[aria-label='Members by month'] tbody tr")!).Split('|');
        Assert.Equal(said, $"{row[1]}|{row[4]}|{row[6]}|{row[7]}");
    }

    /// <summary>Five had it: one took it in the last moment of the first day, one of the seventh, two later and one not at all.</summary>
    [Fact]
    public async Task How_a_drop_was_taken_is_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        Assert.Equal(["5|1|2|4|4"], await ByHandAsync(CountingDocument.OfADrop, CountingDocument.Month, "'2028-01'"));
        var line = Assert.Single(await FileAsync(maker, "/workbench/numbers/drops?handler=Csv"));
        Assert.Equal("5|1|2|4|4", $"{line[3]}|{line[4]}|{line[6]}|{line[8]}|{line[10]}");
        var json = (await JsonAsync(maker, "drops")).GetProperty("lines").EnumerateArray().Single();
        Assert.Equal("5|1|2|4|4", $"{json.GetProperty("holders")}|{string.Join('|', json.GetProperty("within").EnumerateArray().Select(w => w.GetProperty("people").ToString()))}|{json.GetProperty("byNow")}");
        Assert.Equal("Jan 2028|Reed Cove|5|1 (20)||2 (40)||4 (80)||4 (80)", Row((await maker.PageAsync("/workbench/numbers/drops")).QuerySelector("[aria-label='Uptake by drop'] tbody tr")!));
    }
}
