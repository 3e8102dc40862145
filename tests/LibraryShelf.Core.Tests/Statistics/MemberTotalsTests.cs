using LibraryShelf.Core.Statistics.Members;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class MemberTotalsTests
{
    private static readonly string[] Zones = ["Europe/London", "America/New_York", "Pacific/Auckland", "Etc/UTC", "America/Santiago"];

    /// <summary>It is pure: once is enough.</summary>
    private static readonly int Shelves = TestDatabase.IsPostgres ? 60 : 1_000;

    [Fact]
    public void On_any_pasts_it_counts_what_the_definitions_count()
    {
        for (var seed = 0; seed < Shelves; seed++)
        {
            var random = new Random(seed);
            var zone = DateTimeZoneProviders.Tzdb[Zones[seed % Zones.Length]];
            // Over a leap day, turns of years and of the clocks.
            var now = new DateTimeOffset(2025, 1 + random.Next(12), 1 + random.Next(28), random.Next(24), random.Next(60), 0, TimeSpan.Zero);
            List<Past> people = [.. Enumerable.Range(0, 25).Select(_ => Draw(random, zone, now))];
            var (totals, calendar, slow) = (Count(people, zone, now, out var made), made, new SlowMembers(people, zone, now));
            foreach (var figure in Enum.GetValues<MemberFigure>().Where(f => f < MemberFigure.Failed))
                for (var month = 0; month < calendar.Count; month++)
                    foreach (var n in Numbers(figure, calendar.Count - month))
                        foreach (var isPaid in new[] { false, true })
                        {
                            if (isPaid && figure is not (MemberFigure.AtStart or MemberFigure.Joined or MemberFigure.Left)) continue;
                            var expected = slow.Count(figure, calendar.Month(month), n, isPaid);
                            var fast = figure is MemberFigure.AtStart or MemberFigure.Joined or MemberFigure.Left ? totals.Of(figure, month, n, isPaid) : totals.Of(figure, month, n);
                            if (expected != fast)
                                Assert.Fail($"seed {seed}: {figure} of {calendar.Month(month)}, n {n}, paid {isPaid}: {fast} and not {expected}");
                        }
        }
    }

    [Fact]
    public void Whoever_is_there_at_a_months_start_is_who_was_there_before_and_who_came_less_who_went()
    {
        for (var seed = 0; seed < 40; seed++)
        {
            var random = new Random(1000 + seed);
            var zone = DateTimeZoneProviders.Tzdb[Zones[seed % Zones.Length]];
            var now = new DateTimeOffset(2025, 6, 15, 12, 0, 0, TimeSpan.Zero);
            var totals = Count([.. Enumerable.Range(0, 60).Select(_ => Draw(random, zone, now))], zone, now, out var calendar);
            Assert.Contains(Enumerable.Range(0, calendar.Count), m => totals.Of(MemberFigure.Returned, m) > 0);
            for (var m = 0; m + 1 < calendar.Count; m++)
                Assert.Equal(
                    totals.Of(MemberFigure.AtStart, m) + totals.Of(MemberFigure.Joined, m) + totals.Of(MemberFigure.Returned, m) - totals.Of(MemberFigure.Left, m),
                    totals.Of(MemberFigure.AtStart, m + 1));
        }
    }

    [Fact]
    public void What_one_counts_for_depends_on_nobody_else()
    {
        var (random, zone, now) = (new Random(5), DateTimeZoneProviders.Tzdb["Europe/London"], new DateTimeOffset(2025, 6, 15, 12, 0, 0, TimeSpan.Zero));
        List<Past> people = [.. Enumerable.Range(0, 30).Select(_ => Draw(random, zone, now))];
        var together = Count(people, zone, now, out var calendar);
        var apart = new MemberTotals(calendar, now);
        foreach (var one in people)
            foreach (var count in Count([one], zone, now, out _).Entries())
                apart.Add(count);
        Assert.NotEmpty(together.Entries());
        Assert.Equal(Lines(together), Lines(apart));
    }

    private static List<string> Lines(MemberTotals totals) => [.. totals.Entries().Select(e => $"{e.Figure} {e.Month} {e.N} {e.IsPaid} {e.Count}")];

    /// <summary>By hand: who was a member when in London, over the change of the clocks on 31 March 2024 and the leap day.</summary>
    [Theory]
    [InlineData("2024-01-31 10:00", "2024-02-29 10:00", "2024-01 joined; 2024-02 at start; 2024-02 left after 1")]
    [InlineData("2024-02-01 00:00", "2024-03-01 00:00", "2024-02 joined; 2024-02 left after 1")]
    [InlineData("2024-02-29 23:30", "2024-03-29 23:30", "2024-02 joined; 2024-03 at start; 2024-03 left after 1")]
    // An hour before British summer time begins, and at the instant at which March would end without it: still the 31st at 23:00 UTC.
    [InlineData("2024-03-31 00:30", "2024-03-31 23:00", "2024-03 joined; 2024-03 left after 0")]
    [InlineData("2024-03-31 00:30", "2024-03-31 23:01", "2024-03 joined; 2024-04 at start; 2024-04 left after 0")]
    [InlineData("2023-12-31 23:59", "2024-01-01 00:00", "2023-12 joined; 2023-12 left after 0")]
    [InlineData("2023-12-31 23:59", "2024-01-01 00:01", "2023-12 joined; 2024-01 at start; 2024-01 left after 0")]
    public void Months_turn_with_the_shops_clock(string from, string until, string expected)
    {
        var pattern = InstantPattern.CreateWithInvariantCulture("uuuu-MM-dd HH:mm");
        var (zone, now) = (DateTimeZoneProviders.Tzdb["Europe/London"], new DateTimeOffset(2024, 6, 1, 12, 0, 0, TimeSpan.Zero));
        var person = new Past([(pattern.Parse(from).Value.ToDateTimeOffset(), pattern.Parse(until).Value.ToDateTimeOffset(), true)], null);
        var totals = Count([person], zone, now, out var calendar);
        Assert.Equal(expected, string.Join("; ", totals.Entries().Where(e => e.Figure is not (MemberFigure.Left or MemberFigure.Stayed)).OrderBy(e => e.Month).ThenBy(e => e.Figure == MemberFigure.Joined ? 0 : 1).ThenBy(e => e.Figure).Select(e =>
            $"{e.Month:uuuu-MM} {e.Figure switch { MemberFigure.Joined => "joined", MemberFigure.AtStart => "at start", _ => $"left after {e.N}" }}")));
        Assert.Equal(1, Enumerable.Range(0, calendar.Count).Sum(m => totals.Of(MemberFigure.Left, m)));
    }

    internal static Past Draw(Random random, DateTimeZone zone, DateTimeOffset now)
    {
        var times = new List<(DateTimeOffset, DateTimeOffset?, bool)>();
        var at = now.AddDays(-random.Next(30, 800));
        for (var n = random.Next(4); n > 0 && at < now.AddDays(40); n--)
        {
            var isPaid = random.Next(3) > 0;
            var from = random.Next(4) == 0 ? Midnight(at) : at;
            DateTimeOffset? until = random.Next(5) == 0 && !isPaid ? null : random.Next(4) == 0 ? Midnight(from.AddDays(1 + random.Next(200))) : from.AddDays(random.Next(200)).AddMinutes(1 + random.Next(1000));
            if (until is null || from < until) times.Add((from, until, isPaid));
            // The next begins within it, at its very end, or after a gap.
            at = random.Next(4) switch { 0 => until ?? at.AddDays(40), 1 => from.AddDays(random.Next(100)), _ => (until ?? at).AddMinutes(random.Next(90 * 1440)) };
        }
        return new(times, random.Next(3) == 0 ? null : now.AddDays(-random.Next(-5, 700)).AddMinutes(random.Next(1440)));

        DateTimeOffset Midnight(DateTimeOffset day)
        {
            var date = Instant.FromDateTimeOffset(day).InZone(zone).Date;
            return zone.AtStartOfDay(random.Next(3) == 0 ? new LocalDate(date.Year, date.Month, 1) : date).ToDateTimeOffset().ToUniversalTime();
        }
    }

    private static MemberTotals Count(IReadOnlyList<Past> people, DateTimeZone zone, DateTimeOffset now, out ShopCalendar calendar)
    {
        var starts = people.SelectMany(p => p.Times.Select(t => t.From).Concat(p.FreeAt is { } free ? [free] : [])).ToList();
        var totals = new MemberTotals(calendar = new ShopCalendar(zone, starts.Count == 0 ? now : starts.Min(), now), now);
        foreach (var person in people)
            totals.Add(
                [.. person.Times.OrderBy(t => t.From).Select(t => new Membered(t.From.ToUnixTimeMilliseconds(), t.Until?.ToUnixTimeMilliseconds() ?? long.MaxValue, t.IsPaid))],
                person.FreeAt?.ToUnixTimeMilliseconds());
        return totals;
    }

    private static IEnumerable<int> Numbers(MemberFigure figure, int months) => figure switch
    {
        MemberFigure.Stayed => Enumerable.Range(1, months),
        MemberFigure.LeftAfter => Enumerable.Range(0, months + 3),
        MemberFigure.JoinedAfterFree => MemberTotals.FreeDays,
        _ => [0],
    };
}
