using System.Globalization;
using LibraryShelf.Core.Tests.Statistics;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>What is counted beside downloads, in <see cref="OddMonth"/>: hosts, searches, answers, people of a day, income, renewals that failed, and who stays.</summary>
public sealed class OddSeenTests(OddHost odd) : OddByHand(odd), IClassFixture<OddHost>
{
    private const string January = "?from=2028-01-01&to=2028-01-31", JanuarySeen = "s.\"Day\" >= '2028-01-01' AND s.\"Day\" <= '2028-01-31'";

    [Fact]
    public async Task Hosts_and_searches_are_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/libraries" + January);
        var json = await JsonAsync(maker, "libraries" + January);
        string[] hosts = ["reeds.example|Reed Cove|5", "reeds.example||1"];
        Assert.Equal(hosts, await ByHandAsync(CountingDocument.OfWords, CountingDocument.SomeDays, JanuarySeen));
        Assert.Equal(hosts, page.QuerySelectorAll("#came-from tbody tr").Select(Row).Select(r => r.Replace("|The shelf|", "||", StringComparison.Ordinal)));
        Assert.Equal(hosts, (await FileAsync(maker, "/workbench/numbers/libraries" + January + "&handler=ReferrersCsv")).Select(l => string.Join('|', l)));
        Assert.Equal(hosts, json.GetProperty("cameFrom").EnumerateArray().Select(l => Fields(l, "host", "title", "times")));

        string[] searches = ["zither|4", "bowed saw|2"];
        Assert.Equal(["zither||4", "bowed saw||2"], await ByHandAsync(OfKind("'Search'"), CountingDocument.SomeDays, JanuarySeen));
        Assert.Equal(searches, page.QuerySelectorAll("#searches tbody tr").Select(Row));
        Assert.Equal(searches, (await FileAsync(maker, "/workbench/numbers/libraries" + January + "&handler=SearchesCsv")).Select(l => string.Join('|', l)));
        Assert.Equal(searches, json.GetProperty("searches").EnumerateArray().Select(l => Fields(l, "words", "times")));
    }

    [Fact]
    public async Task Answers_are_the_same_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        string[] answers = ["206|11", "410|1"];
        Assert.Equal(["206||11", "410||1"], await ByHandAsync(OfKind("'Answer'"), CountingDocument.SomeDays, JanuarySeen));
        Assert.Equal(["206, a part of it|11", "410, a link that had run out or was closed|1"], (await maker.PageAsync("/workbench/numbers/downloads" + January)).QuerySelectorAll("#answers tbody tr").Select(Row));
        Assert.Equal(answers, (await FileAsync(maker, "/workbench/numbers/downloads" + January + "&handler=AnswersCsv")).Select(l => string.Join('|', l)));
        Assert.Equal(answers, (await JsonAsync(maker, "downloads" + January)).GetProperty("answers").EnumerateArray().Select(l => Fields(l, "status", "times")));
    }

    [Fact]
    public async Task People_of_a_day_are_the_same_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        const string Range = "?from=2028-02-10&to=2028-02-10";
        Assert.Equal(["3"], await ByHandAsync(CountingDocument.OfPeople, CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {OddMonth.PeopleFrom}, {OddMonth.PeopleTo}")));
        Assert.Equal("2028-02-10|3|1", string.Join('|', Assert.Single(await FileAsync(maker, "/workbench/numbers/downloads" + Range + "&handler=PeopleCsv"))[..3]));
        Assert.Equal("2028-02-10|3|1", Fields((await JsonAsync(maker, "downloads" + Range)).GetProperty("peopleByDay").EnumerateArray().Single(), "day", "people", "signedIn"));
    }

    /// <summary>7000 a year are 583.33 a month, and 650: 1233.33, rounded once.</summary>
    [Fact]
    public async Task Income_is_the_same_on_the_page_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        var now = Host.Clock!.GetUtcNow().ToUnixTimeMilliseconds();
        Assert.Equal(["EUR|1233|2"], await ByHandAsync(CountingDocument.OfIncome, CountingDocument.Now, string.Create(CultureInfo.InvariantCulture, $"SELECT {now})")));
        Assert.Equal("EUR|1233|2", Fields((await JsonAsync(maker, "members?from=2028-03")).GetProperty("income").EnumerateArray().Single(), "currency", "minor", "memberships"));
        Assert.Contains("€12.33 a month from 2 memberships.", (await maker.PageAsync("/workbench/numbers/members?from=2028-03")).QuerySelector("main")!.Words(), StringComparison.Ordinal);
    }

    /// <summary>One in the month's first moment, paid after all, and one in its last; beside it one a moment before it, one in the next month's first, and the maker's own.</summary>
    [Fact]
    public async Task Renewals_that_failed_are_the_same_in_the_picture_on_the_page_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        const string Range = "?from=2028-01&to=2028-01";
        Assert.Equal(["2|1"], await ByHandAsync(CountingDocument.OfRenewals, CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {OddMonth.From}, {OddMonth.To}")));
        var page = await maker.PageAsync("/workbench/numbers/members" + Range);
        Assert.Equal(["Jan 2028|2|1"], page.QuerySelectorAll("#renewals-table tbody tr").Select(Row));
        Assert.Equal("Solid columns up: failed. Outlined columns down: of these, paid after all. January 2028: 2 failed, 1 paid after all.", page.QuerySelector("#renewals-0")!.TextContent);
        Assert.Equal("2|1", string.Join('|', Assert.Single(await FileAsync(maker, "/workbench/numbers/members" + Range + "&handler=Csv"))[10..12]));
        Assert.Equal("2|1", Fields((await JsonAsync(maker, "members" + Range)).GetProperty("months").EnumerateArray().Single(), "failedRenewals", "recoveredRenewals"));
    }

    /// <summary>Who joined in the month's first moment left with its last; who joined on the 20th was a member through 20 February.</summary>
    [Fact]
    public async Task Who_stays_is_the_same_in_the_file_as_json_and_by_hand()
    {
        var maker = await Host.MakerAsync();
        const long Joined = OddMonth.From + (19 * OddMonth.Day);
        Assert.Equal(["1|0"], await StillAsync(OddMonth.From, OddMonth.From + OddMonth.Day, OddMonth.To + OddMonth.Day));
        Assert.Equal(["1|1"], await StillAsync(Joined, Joined + OddMonth.Day, OddMonth.To + (20 * OddMonth.Day)));
        const string Range = "?from=2028-01&to=2028-01";
        Assert.Contains("2028-01,1,2,1", (await FileAsync(maker, "/workbench/numbers/members" + Range + "&handler=Csv&what=stays")).Select(l => string.Join(',', l)));
        Assert.Contains("2028-01|1|2|1", (await JsonAsync(maker, "members" + Range)).GetProperty("stays").EnumerateArray().Select(l => Fields(l, "joinedIn", "monthsLater", "joined", "members")));

        Task<List<string>> StillAsync(long from, long to, long ends) => ByHandAsync(CountingDocument.OfStays, CountingDocument.Stay, string.Create(CultureInfo.InvariantCulture, $"SELECT {from}, {to}, {ends}"));
    }

    private static string OfKind(string kind)
    {
        Assert.Contains(CountingDocument.Kind, CountingDocument.OfWords, StringComparison.Ordinal);
        return CountingDocument.OfWords.Replace(CountingDocument.Kind, kind, StringComparison.Ordinal);
    }
}
