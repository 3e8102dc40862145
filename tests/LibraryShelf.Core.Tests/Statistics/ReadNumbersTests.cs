using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class ReadNumbersTests
{
    private static Task<DownloadNumbers> ReadAsync(StockedShelf shelf, string? slug = null, int days = 60) =>
        shelf.WithAsync(async db =>
        {
            // All days anew: rows are written here without the count, which marks what it changes.
            await db.DayRolls.ExecuteDeleteAsync();
            await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
            return await new ReadNumbers(db, shelf.Temp.Clock).RunAsync(slug, today => DayRange.Read(null, null, today, days), default);
        });

    private static Task AddAsync(StockedShelf shelf, string id, DateTimeOffset? started, DateTimeOffset? finished, MayDownloadWhy why = MayDownloadWhy.Free) =>
        shelf.WithAsync(db =>
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = why, StartedAt = started });
            if (started is not null) db.DownloadTallies.Add(new DownloadTally { DownloadId = id, StartedAt = started, FinishedAt = finished });
            return db.SaveChangesAsync();
        });

    private static Task SetZoneAsync(StockedShelf shelf, string zone) => shelf.WithAsync(db =>
    {
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = zone });
        return db.SaveChangesAsync();
    });

    private static DateTimeOffset Utc(int month, int day, int hour, int minute = 0) => new(2026, month, day, hour, minute, 0, TimeSpan.Zero);

    [Fact]
    public async Task Started_and_finished_are_counted_on_their_own_days()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await AddAsync(shelf, "a", Utc(11, 23, 23, 50), Utc(11, 24, 0, 10));
        await AddAsync(shelf, "b", Utc(11, 24, 9), null);
        await AddAsync(shelf, "pressed, never used", null, null);
        var numbers = await ReadAsync(shelf);
        Assert.Equal((2, 1), (numbers.Started, numbers.Finished));
        var days = numbers.Days;
        Assert.Equal(60, days.Count);
        Assert.Equal(new LocalDate(2026, 11, 25), days[^1].Day);
        Assert.Equal([(1, 0), (1, 1), (0, 0)], days.TakeLast(3).Select(d => (d.Started, d.Finished)));
        var box = Assert.Single(numbers.Boxes);
        Assert.Equal(("mended-kettle", "1.0.0", 2, 1), (box.Slug, box.Versions[0].Number, box.Versions[0].Started, box.Versions[0].Finished));
    }

    [Fact]
    public async Task Lines_are_read_as_they_are_taken_and_free_and_members_stand_apart()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (first, last) = (new LocalDate(2017, 1, 1), new LocalDate(2026, 11, 25));
        DayCount On(LocalDate day, FetchedBy by, int started, int finished) => new() { Day = day, LibraryId = shelf.LibraryId, ReleaseId = shelf.ReleaseId, By = by, Started = started, Finished = finished };
        await shelf.WithAsync(db =>
        {
            db.DayCounts.AddRange(On(first, FetchedBy.Free, 5, 4), On(first, FetchedBy.Members, 3, 1), On(first, FetchedBy.Robots, 50, 50), On(last, FetchedBy.Members, 2, 2));
            return db.SaveChangesAsync();
        });
        await using var open = shelf.Temp.Open();
        await using var lines = new ReadNumbersLines(open, shelf.Temp.Clock).RunAsync(null, _ => new(first, last), default).GetAsyncEnumerator();
        Assert.True(await lines.MoveNextAsync());
        Assert.Equal((first, 8, 5, 5, 4, 3, 1), (lines.Current.Day, lines.Current.Started, lines.Current.Finished, lines.Current.StartedFree, lines.Current.FinishedFree, lines.Current.StartedMembers, lines.Current.FinishedMembers));
        // What comes to a late day after the first line was taken is in a later one: ten years are not read at once.
        await shelf.WithAsync(db => db.DayCounts.Where(c => c.Day == last).ExecuteUpdateAsync(s => s.SetProperty(c => c.Started, 7)));
        Assert.True(await lines.MoveNextAsync());
        Assert.Equal((last, 7, 2, 0, 0), (lines.Current.Day, lines.Current.Started, lines.Current.Finished, lines.Current.StartedFree, lines.Current.FinishedFree));
        Assert.False(await lines.MoveNextAsync());
    }

    // Kiritimati is UTC+14 all year, Pago Pago UTC-11 (IANA tz database 2025b: Pacific/Kiritimati, Pacific/Pago_Pago).
    [Theory]
    [InlineData("Pacific/Kiritimati", 25)]
    [InlineData("Pacific/Pago_Pago", 24)]
    [InlineData("Etc/UTC", 24)]
    [InlineData("No/Such_Zone", 24)]
    public async Task A_day_is_a_day_of_the_shop(string zone, int day)
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await SetZoneAsync(shelf, zone);
        await AddAsync(shelf, "a", Utc(11, 24, 13), Utc(11, 24, 13));
        Assert.Equal(new LocalDate(2026, 11, day), Assert.Single((await ReadAsync(shelf)).Days, d => d.Started > 0).Day);
    }

    // Lisbon left summer time on 25 October 2026 at 01:00 UTC: that day had 25 hours (IANA tz database, rule EU).
    [Fact]
    public async Task A_day_of_twenty_five_hours_is_one_day()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await SetZoneAsync(shelf, "Europe/Lisbon");
        await AddAsync(shelf, "first", Utc(10, 24, 23, 0), null);
        await AddAsync(shelf, "last", Utc(10, 25, 23, 59), null);
        await AddAsync(shelf, "next", Utc(10, 26, 0, 0), null);
        Assert.Equal([(25, 2), (26, 1)], (await ReadAsync(shelf)).Days.Where(d => d.Started > 0).Select(d => (d.Day.Day, d.Started)));
    }

    [Fact]
    public async Task The_period_starts_with_the_first_moment_of_its_first_day()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await AddAsync(shelf, "in", Utc(11, 24, 0), Utc(11, 24, 0));
        await AddAsync(shelf, "out", Utc(11, 24, 0).AddMilliseconds(-1), Utc(11, 24, 0).AddMilliseconds(-1));
        var numbers = await ReadAsync(shelf, days: 2);
        Assert.Equal((1, 1, 2), (numbers.Started, numbers.Finished, numbers.Days.Count));
    }

    [Fact]
    public async Task The_makers_own_fetches_are_left_out_and_one_box_can_be_chosen()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await AddAsync(shelf, "hers", Utc(11, 24, 9), Utc(11, 24, 9), MayDownloadWhy.Maker);
        await AddAsync(shelf, "theirs", Utc(11, 24, 9), Utc(11, 24, 9), MayDownloadWhy.Member);
        await shelf.WithAsync(db =>
        {
            db.Libraries.Add(new Library { Slug = "tin-roof", Title = "Tin Roof" });
            return db.SaveChangesAsync();
        });
        Assert.Equal(1, (await ReadAsync(shelf)).Finished);
        Assert.Equal(1, (await ReadAsync(shelf, "mended-kettle")).Finished);
        var other = await ReadAsync(shelf, "tin-roof");
        Assert.Equal((0, "Tin Roof"), (other.Finished, other.Chosen!.Title));
        Assert.Null((await ReadAsync(shelf, "no-such-box")).Chosen);
    }

    [Theory]
    [InlineData(null, null, "2026-10-27", "2026-11-25")]
    [InlineData("2024-02-29", "2024-03-01", "2024-02-29", "2024-03-01")]
    [InlineData("2026-03-01", "2025-12-31", "2025-12-31", "2026-03-01")]
    [InlineData(null, "2026-03-01", "2026-01-31", "2026-03-01")]
    [InlineData("2027-01-01", "2027-02-01", "2026-11-25", "2026-11-25")]
    [InlineData("2026-02-30", "yesterday", "2026-10-27", "2026-11-25")]
    [InlineData("2001-01-01", "2026-11-25", "2016-11-18", "2026-11-25")]
    public void Days_are_taken_as_near_as_they_can_be_to_what_was_written(string? from, string? to, string first, string last)
    {
        var range = DayRange.Read(from, to, new LocalDate(2026, 11, 25), 30);
        Assert.Equal((first, last), (LocalDatePattern.Iso.Format(range.First), LocalDatePattern.Iso.Format(range.Last)));
        Assert.InRange(range.Days, 1, DayRange.MostDays);
    }

    [Fact]
    public void Days_beside_are_as_many_as_far_as_they_are_over()
    {
        var (today, range) = (new LocalDate(2026, 11, 25), new DayRange(new(2026, 11, 1), new(2026, 11, 10)));
        Assert.Equal(new DayRange(new(2025, 11, 1), new(2025, 11, 10)), range.ReadAgainst("2025-11-01", today));
        Assert.Equal(new DayRange(new(2026, 11, 20), today), range.ReadAgainst("2026-11-20", today));
        Assert.Equal(new DayRange(new(2026, 11, 26), new(2026, 11, 26)), range.ReadAgainst("2026-11-26", today));
        Assert.Null(range.ReadAgainst("", today));
        Assert.Equal(new LocalDate(2026, 11, 26), DayRange.ToCome("2026-11-26", null, today));
        // An end before the start is exchanged with it, so some of these days have come.
        Assert.Equal((null, null, null), (DayRange.ToCome("2026-11-25", "2026-12-25", today), DayRange.ToCome("2026-12-25", "2026-11-01", today), DayRange.ToCome(null, "2026-12-25", today)));
    }

    [Fact]
    public async Task Robots_and_her_own_fetches_are_in_the_bytes_alone()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        foreach (var (id, why, robot, bytes) in new[] { ("a", MayDownloadWhy.Free, false, 10L), ("b", MayDownloadWhy.Member, false, 200), ("c", MayDownloadWhy.Free, true, 3_000), ("d", MayDownloadWhy.Maker, false, 40_000) })
            await shelf.WithAsync(db =>
            {
                db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = why, IsRobot = robot, StartedAt = Utc(11, 24, 9) });
                db.DownloadTallies.Add(new DownloadTally { DownloadId = id, StartedAt = Utc(11, 24, 9), FinishedAt = Utc(11, 24, 9), Requests = 2, Resumes = 1, BytesServed = bytes });
                return db.SaveChangesAsync();
            });
        var numbers = await ReadAsync(shelf);
        Assert.Equal(new DownloadSums(2, 2, 4, 2, 210), numbers.Sums);
        Assert.Equal((1, 1, 1), (numbers.Of(FetchedBy.Free).Finished, numbers.Of(FetchedBy.Members).Finished, numbers.Of(FetchedBy.Robots).Started));
        Assert.Equal(43_210, numbers.AllBytes);
    }
}
