using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class ReadNumbersTests
{
    private static Task<Numbers> ReadAsync(StockedShelf shelf, string? slug = null, int days = 60) =>
        shelf.WithAsync(async db =>
        {
            // All days anew: rows are written here without the count, which marks what it changes.
            await db.DayRolls.ExecuteDeleteAsync();
            await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
            return await new ReadNumbers(db, shelf.Temp.Clock).RunAsync(slug, days, default);
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
        var days = numbers.ByDay();
        Assert.Equal(60, days.Count);
        Assert.Equal(new LocalDate(2026, 11, 25), days[^1].Day);
        Assert.Equal([(1, 0), (1, 1), (0, 0)], days.TakeLast(3).Select(d => (d.Started, d.Finished)));
        var box = Assert.Single(numbers.ByBox());
        Assert.Equal(("mended-kettle", "1.0.0", 2, 1), (box.Slug, box.Versions[0].Number, box.Versions[0].Started, box.Versions[0].Finished));
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
        Assert.Equal(new LocalDate(2026, 11, day), Assert.Single((await ReadAsync(shelf)).Lines).Day);
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
        Assert.Equal([(25, 2), (26, 1)], (await ReadAsync(shelf)).Lines.Select(l => (l.Day.Day, l.Started)));
    }

    [Fact]
    public async Task The_period_starts_with_the_first_moment_of_its_first_day()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await AddAsync(shelf, "in", Utc(11, 24, 0), Utc(11, 24, 0));
        await AddAsync(shelf, "out", Utc(11, 24, 0).AddMilliseconds(-1), Utc(11, 24, 0).AddMilliseconds(-1));
        var numbers = await ReadAsync(shelf, days: 2);
        Assert.Equal((1, 1, 2), (numbers.Started, numbers.Finished, numbers.ByDay().Count));
        Assert.Single((await ReadAsync(shelf, days: -3)).ByDay());
        Assert.Equal(ReadNumbers.MostDays, (await ReadAsync(shelf, days: int.MaxValue)).ByDay().Count);
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
}
