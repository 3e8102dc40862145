using LibraryShelf.Core.Letters.Weekly;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using NodaTime;

namespace LibraryShelf.Core.Tests.Letters.Weekly;

/// <summary>Each rule at its bounds; their order. The bounds are the house's own (docs/counting.md), no source.</summary>
public sealed class WeekSentencesTests
{
    private static readonly IsoWeek Week = IsoWeek.Of(new LocalDate(2026, 11, 25));
    private static readonly DropNumbers NoDrops = new(new(2026, 11), new(2026, 11), new(2026, 11), new(2026, 11), "Etc/UTC", 0, []);
    private static readonly WeekFacts Nothing = new(Week, 0, 0, new(0, 0, 0, 0, 0, 0), null, NoDrops, [], new LocalDate(2026, 11, 30), [], [], []);

    private static string? One(WeekFacts facts) => WeekSentences.Of(facts).SingleOrDefault()?.Words;

    [Theory]
    [InlineData(312, 1000, "312 downloads were finished last week. That is 25 % more than in a usual week: 1,000 in the four before it.")]
    [InlineData(300, 1000, "300 downloads were finished last week. That is 20 % more than in a usual week: 1,000 in the four before it.")]
    [InlineData(200, 1000, "200 downloads were finished last week. That is 20 % fewer than in a usual week: 1,000 in the four before it.")]
    [InlineData(299, 1000, null)] // not a fifth
    [InlineData(9, 0, null)] // not ten
    [InlineData(10, 0, "10 downloads were finished last week. None were in the four weeks before.")]
    [InlineData(1, 44, "1 download was finished last week. That is 91 % fewer than in a usual week: 44 in the four before it.")]
    [InlineData(0, 0, null)]
    public void Downloads_are_told_of_when_they_are_a_fifth_and_ten_more_or_fewer(int finished, int before, string? said) =>
        Assert.Equal(said, One(Nothing with { Finished = finished, FinishedBefore = before }));

    [Theory]
    [InlineData(0, null)]
    [InlineData(1, null)] // one week is no usual one
    [InlineData(2, "50 downloads were finished last week. That is 150 % more than in a usual week: 40 in the two before it.")]
    [InlineData(3, "50 downloads were finished last week. That is 275 % more than in a usual week: 40 in the three before it.")]
    [InlineData(4, "50 downloads were finished last week. That is 400 % more than in a usual week: 40 in the four before it.")]
    public void A_usual_week_is_of_the_weeks_that_the_shelf_had(int weeks, string? said) => Assert.Equal(said, One(Nothing with { Finished = 50, FinishedBefore = 40, WeeksBefore = weeks }));

    [Theory]
    [InlineData("2026-11-23", 0)] // the week told of
    [InlineData("2026-11-16", 1)]
    [InlineData("2026-11-10", 1)] // a Tuesday: its week is not whole
    [InlineData("2026-11-09", 2)]
    [InlineData("2020-01-01", 4)]
    [InlineData("2026-11-30", 0)]
    public void Weeks_that_are_whole_since_a_first_day(string first, int weeks) => Assert.Equal(weeks, Week.WeeksSince(NodaTime.Text.LocalDatePattern.Iso.Parse(first).Value));

    [Theory]
    [InlineData(3, 1, 2, "3 people joined, 1 came back and 2 left last week: 431 members now.")]
    [InlineData(0, 0, 2, "2 people left last week: 431 members now.")]
    [InlineData(0, 0, 0, null)]
    public void Members_who_came_and_went(int joined, int returned, int left, string? said) =>
        Assert.Equal(said, One(Nothing with { Moves = new(431, joined, returned, left, 0, 0) }));

    [Theory]
    [InlineData(10, 2, "Tin Roof: of 10 downloads begun in the four weeks to 22 November 2026, 2 were never finished.")]
    [InlineData(9, 9, null)] // too few begun
    [InlineData(11, 2, null)] // less than a fifth
    public void A_box_that_many_begin_and_never_finish(int begun, int notFinished, string? said) =>
        Assert.Equal(said, One(Nothing with { Settled = [Box("Tin Roof", begun: begun, notFinished: notFinished)] }));

    [Theory]
    [InlineData(3, "“bowed saw” was looked for in vain 3 times last week.")]
    [InlineData(2, null)]
    public void What_was_looked_for_in_vain(int times, string? said) => Assert.Equal(said, One(Nothing with { Searches = [new("bowed saw", times)] }));

    [Fact]
    public void What_strangers_type_makes_neither_links_nor_nonsense_of_her_letter() => Assert.Equal(
        "“bowed saw” was looked for in vain 3 times last week.",
        One(Nothing with { Searches = [new("(others)", 4_700), new("https://evil.example/renew", 9), new("www.evil.example", 8), new("evil.example", 7), new("a@evil.example", 6), new("bowed saw", 3), new("zither", 3)] }));

    [Theory]
    [InlineData(4, 31, "Tin Roof 1.1.0 is out since 30 October 2026; 4 of the 10 people who have the library have that version.")]
    [InlineData(1, 30, "Tin Roof 1.1.0 is out since 31 October 2026; 1 of the 10 people who have the library has that version.")]
    [InlineData(5, 31, null)] // half have it
    [InlineData(4, 29, null)] // not out for thirty days
    public void A_version_that_less_than_half_have_after_thirty_days(int have, int daysAgo, string? said)
    {
        var (old, latest) = (new ShareVersion(1, "1.0.0", new(2026, 1, 1)), new ShareVersion(2, "1.1.0", Nothing.Today.PlusDays(-daysAgo)));
        var shares = new VersionShares(new("tin-roof", "Tin Roof"), [], Week.Days, "Etc/UTC", [old, latest], 2, [new(Nothing.Today, [10 - have, have])], []);
        Assert.Equal(said, One(Nothing with { Behind = [shares] }));
    }

    [Theory]
    [InlineData(14, 20, "70 in a hundred took this month’s drop within 7 days; the drops before it usually came to 50.")]
    [InlineData(9, 20, "45 in a hundred took this month’s drop within 7 days; the drops before it usually came to 50.")]
    [InlineData(54, 100, null)] // as usual
    [InlineData(7, 9, null)] // too few to say
    public void This_months_drop_against_those_before_at_the_same_age(int took, int holders, string? said)
    {
        var drop = Line(new(2026, 11), holders, [0, took, took], [true, true, false]);
        var before = new[] { (10, 60), (9, 50), (8, 40) }.Select(d => Line(new(2026, d.Item1), 100, [0, d.Item2, 90], [true, true, true]));
        Assert.Equal(said, One(Nothing with { Drop = drop, Drops = NoDrops with { All = [drop, .. before] } }));
    }

    [Fact]
    public void Renewals_come_first_a_fall_of_downloads_next_and_three_are_told_at_most()
    {
        var facts = Nothing with
        {
            Finished = 10, FinishedBefore = 400, Moves = new(431, 3, 0, 2, 2, 1), Boxes = [Box("Tin Roof", wanted: 4)], Settled = [Box("Tin Roof", begun: 20, notFinished: 10)],
            Searches = [new("bowed saw", 9)],
        };
        Assert.Equal(
            ["2 renewals failed last week; one of them is paid by now.", "10 downloads were finished last week. That is 90 % fewer than in a usual week: 400 in the four before it.", "3 people joined and 2 left last week: 431 members now."],
            WeekSentences.Of(facts).Select(s => s.Words));
        Assert.Equal("/workbench/numbers/downloads?from=2026-10-26&to=2026-11-29", WeekSentences.Of(facts)[1].Path);
        // Without the louder ones the quieter are told, in their order.
        Assert.Equal(["Unfinished", "Searched", "Wanted"], WeekSentences.Of(facts with { Finished = 0, FinishedBefore = 0, Moves = new(431, 0, 0, 0, 0, 0) })
            .Select(s => s.Words.Contains("never", StringComparison.Ordinal) ? "Unfinished" : s.Words.Contains("in vain", StringComparison.Ordinal) ? "Searched" : "Wanted"));
    }

    [Fact]
    public void A_week_without_anything_says_so_in_one_sentence()
    {
        var (subject, text) = WeekWords.Letter(Nothing, "https://shelf.example");
        Assert.Equal("Your week: 0 members, 0 downloads finished", subject);
        Assert.Equal("23 November 2026 to 29 November 2026\n------------------------------------\n\nNothing in last week’s figures stands out.", text);
    }

    private static BoxNumbers Box(string title, int wanted = 0, int begun = 0, int notFinished = 0) => new(1, "tin-roof", title, 0, wanted, 0, begun, notFinished, 0);

    private static UptakeLine Line(YearMonth month, int holders, int[] after, bool[] areOver) =>
        new(month, "", [], DateTimeOffset.UnixEpoch, holders, after, areOver, after[1]);
}
