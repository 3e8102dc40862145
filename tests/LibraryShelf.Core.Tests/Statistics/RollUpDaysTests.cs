using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class RollUpDaysTests
{
    /// <summary>Starts at so many seconds of one visitor, and how many are counted.</summary>
    [Theory]
    [InlineData(1, 0, 29)] // COUNTER Code of Practice 5.1 §7.2: 10:01:00 and 10:01:29
    [InlineData(2, 0, 35)] // the same: 10:01:00 and 10:01:35
    [InlineData(1, 0, 29, 35)] // the rule applied: keep 10:01:35
    [InlineData(1, 0, 20, 40)] // the rule applied: each gap is within 30 s, the last one survives
    [InlineData(2, 0, 31)]
    [InlineData(1, 0, 30)] // within 30 seconds, inclusive
    public async Task Double_clicks_count_once_and_the_later_is_kept(int counted, params int[] seconds)
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var first = new DateTimeOffset(2026, 11, 24, 10, 1, 0, TimeSpan.Zero);
        await StartAsync(shelf, [.. seconds.Select((s, i) => ($"d{i}", first.AddSeconds(s), "one"))]);
        var day = Assert.Single(await DaysAsync(shelf));
        Assert.Equal(counted, day.Started);
        await using var db = shelf.Temp.Open();
        Assert.False((await db.DownloadTallies.SingleAsync(t => t.DownloadId == $"d{seconds.Length - 1}")).IsAgain);
    }

    /// <summary>COUNTER 5.1 App. E.2.3: 15 pairs within the double click's time and 15 outside of it are 45.</summary>
    [Fact]
    public async Task The_audits_thirty_pairs_are_forty_five()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var first = new DateTimeOffset(2026, 11, 24, 6, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [.. Enumerable.Range(0, 30).SelectMany(i => new[] { 0, i < 15 ? 20 : 45 }.Select((s, n) => ($"d{i}-{n}", first.AddMinutes(i * 10).AddSeconds(s), $"v{i}")))]);
        Assert.Equal(45, Assert.Single(await DaysAsync(shelf)).Started);
        await using var db = shelf.Temp.Open();
        Assert.Equal(30, (await db.DayPeople.SingleAsync(p => p.LibraryId == 0)).People);
    }

    /// <summary>IAB Podcast Technical Measurement Guidelines 2.3 §5.5.2: a probe of two bytes counts 0; COUNTER has no such rule.</summary>
    [Fact]
    public async Task A_probe_of_two_bytes_starts_nothing_and_what_follows_it_does()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [("d", at, "one")], bytes: 2);
        Assert.Empty(await DaysAsync(shelf));
        await shelf.WithAsync(db => new RecordEvents(db).RunAsync([new DownloadEvent { DownloadId = "d", From = 0, To = 3, BeginsAnswer = true, At = at.AddSeconds(5) }], default).ContinueWith(_ => 0, TaskScheduler.Default));
        var day = Assert.Single(await DaysAsync(shelf));
        Assert.Equal((1, 1, 5L), (day.Started, day.Requests, day.Bytes));
    }

    /// <summary>As after an upgrade: the tally has a probe among its requests, and its day was rolled up by the rules before.</summary>
    [Fact]
    public async Task A_probe_that_older_rules_took_for_a_request_is_taken_back_once_and_its_day_made_anew()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [("d", at, "one"), ("plain", at, "two")]);
        await shelf.WithAsync(db => db.DownloadEvents.AddRangeAsync(new DownloadEvent { DownloadId = "d", From = 0, To = 2, BeginsAnswer = true, At = at }, new DownloadEvent { DownloadId = "d", From = 0, To = 1, BeginsAnswer = true, At = at })
            .ContinueWith(_ => db.SaveChangesAsync(), TaskScheduler.Default).Unwrap());
        await DaysAsync(shelf);
        await shelf.WithAsync(db => db.DownloadTallies.Where(t => t.DownloadId == "d").ExecuteUpdateAsync(s => s.SetProperty(t => t.Requests, 3)));
        await shelf.WithAsync(db => db.DayCounts.ExecuteUpdateAsync(s => s.SetProperty(c => c.Requests, 4)));
        await shelf.WithAsync(db => db.DayRolls.ExecuteUpdateAsync(s => s.SetProperty(r => r.By, "2 UTC")));
        // What comes right after the upgrade is counted by the rules of now alone.
        await shelf.WithAsync(db =>
        {
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = "plain", From = 0, To = 2, BeginsAnswer = true, At = at });
            return db.SaveChangesAsync();
        });
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        Assert.True(await shelf.WithAsync(db => new FindUncounted(db, new RollUpMonths(db, shelf.Temp.Clock)).RunAsync(default)));
        for (var i = 0; i < 2; i++)
        {
            Assert.Equal(2, Assert.Single(await DaysAsync(shelf)).Requests);
            Assert.Equal([("d", 1), ("plain", 1)], await shelf.WithAsync(async db => (await db.DownloadTallies.OrderBy(t => t.DownloadId).ToListAsync()).ConvertAll(t => (t.DownloadId, t.Requests))));
        }
    }

    /// <summary>Its row names the box of its first version; docs/counting.md: of a box alone a month fetched as one archive is left out.</summary>
    [Fact]
    public async Task Who_fetched_a_whole_month_is_among_all_people_and_none_of_one_box()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [("box", at, ""), ("month", at, "")]);
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.Visitor, (string?)null).SetProperty(d => d.PersonId, d => d.Id == "box" ? 1 : 2).SetProperty(d => d.DropId, d => d.Id == "box" ? null : 7)));
        await DaysAsync(shelf);
        await shelf.WithAsync(db => new RollUpMonths(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal([(0, 2, 2), (shelf.LibraryId, 1, 1)], await shelf.WithAsync(async db => (await db.DayPeople.OrderBy(p => p.LibraryId).ToListAsync()).ConvertAll(p => (p.LibraryId, p.People, p.SignedIn))));
        Assert.Equal([(0, 2), (shelf.LibraryId, 1)], await shelf.WithAsync(async db => (await db.MonthPeople.OrderBy(p => p.LibraryId).ToListAsync()).ConvertAll(p => (p.LibraryId, p.SignedIn))));
    }

    /// <summary>docs/counting.md: their day and month keep them until something else has these made anew.</summary>
    [Fact]
    public async Task Who_was_deleted_stays_among_the_people_of_a_day_and_a_month_until_it_is_made_anew()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [("one", at, ""), ("other", at.AddDays(-1), "")]);
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.Visitor, (string?)null).SetProperty(d => d.PersonId, 5)));
        async Task<(int, int, int)> PeopleAsync()
        {
            await DaysAsync(shelf);
            await shelf.WithAsync(db => new RollUpMonths(db, shelf.Temp.Clock) { Pause = TimeSpan.Zero }.RunAsync(default));
            return await shelf.WithAsync(async db => ((await db.DayPeople.SingleAsync(p => p.LibraryId == 0 && p.Day == new LocalDate(2026, 11, 24))).People,
                (await db.DayPeople.SingleAsync(p => p.LibraryId == 0 && p.Day == new LocalDate(2026, 11, 23))).People, (await db.MonthPeople.SingleAsync(p => p.LibraryId == 0)).SignedIn));
        }
        Assert.Equal((1, 1, 1), await PeopleAsync());
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null)));
        Assert.Equal((1, 1, 1), await PeopleAsync());
        await StartAsync(shelf, [("later", at.AddHours(1), "visitor")]);
        Assert.Equal((1, 1, 0), await PeopleAsync());
        Assert.Equal([1, 2], (await DaysAsync(shelf)).Select(d => d.Started));
    }

    /// <summary>
    /// IAB Podcast Technical Measurement Guidelines 2.3 §5.5.1: of 22:00 Monday, 03:00 and 22:15 Tuesday, 23:15 Wednesday by one visitor calendar days count 1, 1, 0, 1, twenty-four
    /// hours from what was counted last 1, 0, 1, 1, and from what came last 1, 0, 0, 1. All three are rejected: here they are four downloads, which is the house's own, and as many people
    /// a day as the first counts downloads.
    /// </summary>
    [Fact]
    public async Task One_visitor_of_three_days_is_one_person_of_each()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var monday = new DateTimeOffset(2026, 11, 23, 0, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [.. new[] { 22.0, 27, 46.25, 71.25 }.Select((h, i) => ($"d{i}", monday.AddHours(h), "one"))]);
        Assert.Equal([1, 2, 1], (await DaysAsync(shelf)).Select(d => d.Started));
        Assert.Equal([1, 1, 1], await shelf.WithAsync(db => db.DayPeople.Where(p => p.LibraryId == 0).OrderBy(p => p.Day).Select(p => p.People).ToListAsync()));
    }

    /// <summary>
    /// The same §5.5.2: what adds up to less than a minute counts 0. Rejected, as a zip has no minutes: it is begun, by somebody, and never finished. COUNTER 5.1 §7.1 counts no 206 at all.
    /// </summary>
    [Fact]
    public async Task Parts_that_add_up_to_little_are_begun_and_not_finished()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [("d", at, "one")], bytes: 3);
        await shelf.WithAsync(db => new RecordEvents(db).RunAsync([new DownloadEvent { DownloadId = "d", From = 50, To = 60, BeginsAnswer = true, At = at.AddSeconds(5) }], default).ContinueWith(_ => 0, TaskScheduler.Default));
        var day = Assert.Single(await DaysAsync(shelf));
        Assert.Equal((1, 0, 2, 13L), (day.Started, day.Finished, day.Requests, day.Bytes));
    }

    /// <summary>COUNTER 5.1 §7.3, §7.4: twelve chapters of one book in one session are twelve requests of one title; here twelve archives of one box are twelve downloads by one person.</summary>
    [Fact]
    public async Task Twelve_archives_of_one_box_are_twelve_downloads_by_one_person()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await StartAsync(shelf, [.. Enumerable.Range(0, 12).Select(i => ($"d{i:00}", new DateTimeOffset(2026, 11, 24, 10, 0, i, TimeSpan.Zero), "one"))]);
        for (var i = 0; i < 12; i++)
        {
            var (id, archive) = ($"d{i:00}", 100 + i);
            await shelf.WithAsync(db =>
            {
                db.Archives.Add(new Archive { Id = archive, ReleaseId = shelf.ReleaseId, RecipeSha256 = id, Length = 1_000, FileName = $"{id}.zip" });
                return db.SaveChangesAsync();
            });
            await shelf.WithAsync(db => db.Downloads.Where(d => d.Id == id).ExecuteUpdateAsync(s => s.SetProperty(d => d.ArchiveId, archive)));
        }
        Assert.Equal(12, Assert.Single(await DaysAsync(shelf)).Started);
        Assert.Equal(1, (await shelf.WithAsync(db => db.DayPeople.SingleAsync(p => p.LibraryId == shelf.LibraryId))).People);
    }

    [Fact]
    public async Task A_visitor_who_starts_more_than_a_person_would_is_a_robot_in_that_day_and_a_member_never()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 24, 0, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [.. Enumerable.Range(0, RollUpDays.MostByAPerson).Select(i => ($"a{i:00}", at.AddMinutes(i), "person")),
            .. Enumerable.Range(0, RollUpDays.MostByAPerson + 1).Select(i => ($"b{i:00}", at.AddMinutes(i), "program"))]);
        var days = await DaysAsync(shelf);
        Assert.Equal([(FetchedBy.Free, 40), (FetchedBy.Robots, 41)], days.OrderBy(d => d.By).Select(d => (d.By, d.Started)));
        await shelf.WithAsync(db => db.Downloads.Where(d => d.Visitor == "program").ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, 5).SetProperty(d => d.IsRobot, false)));
        await shelf.WithAsync(db => db.DayRolls.ExecuteDeleteAsync());
        Assert.Equal([(FetchedBy.Free, 81)], (await DaysAsync(shelf)).Select(d => (d.By, d.Started)));
    }

    /// <summary>As after an upgrade: there are tallies, and no day was ever rolled up.</summary>
    [Fact]
    public async Task Days_before_there_was_rolling_up_are_rolled_up_too()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await StartAsync(shelf, [("old", new DateTimeOffset(2026, 11, 20, 10, 0, 0, TimeSpan.Zero), "one")]);
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        await shelf.WithAsync(db => db.DayRolls.ExecuteDeleteAsync());
        Assert.True(await shelf.WithAsync(db => new FindUncounted(db, new RollUpMonths(db, shelf.Temp.Clock)).RunAsync(default)));
        await StartAsync(shelf, [("new", new DateTimeOffset(2026, 11, 24, 10, 0, 0, TimeSpan.Zero), "one")]);
        Assert.Equal([20, 24], (await DaysAsync(shelf)).Select(d => d.Day.Day));
        await shelf.WithAsync(db => new RollUpMonths(db, shelf.Temp.Clock).RunAsync(default));
        Assert.False(await shelf.WithAsync(db => new FindUncounted(db, new RollUpMonths(db, shelf.Temp.Clock)).RunAsync(default)));
    }

    [Fact]
    public async Task A_robots_downloads_are_a_robots_also_when_they_end_after_midnight()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var at = new DateTimeOffset(2026, 11, 23, 23, 0, 0, TimeSpan.Zero);
        await StartAsync(shelf, [.. Enumerable.Range(0, RollUpDays.MostByAPerson + 1).Select(i => ($"b{i:00}", at.AddMinutes(i), "program"))]);
        await shelf.WithAsync(db =>
        {
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = "b05", From = 0, To = shelf.Length, At = at.AddHours(3) });
            return db.SaveChangesAsync();
        });
        Assert.Equal([(23, FetchedBy.Robots, 41, 0), (24, FetchedBy.Robots, 0, 1)], (await DaysAsync(shelf)).Select(d => (d.Day.Day, d.By, d.Started, d.Finished)));
    }

    [Fact]
    public async Task Another_zone_makes_all_days_anew()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await StartAsync(shelf, [("d", new DateTimeOffset(2026, 11, 24, 23, 0, 0, TimeSpan.Zero), "one")]);
        Assert.Equal(new LocalDate(2026, 11, 24), Assert.Single(await DaysAsync(shelf)).Day);
        await shelf.WithAsync(db =>
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Berlin" });
            return db.SaveChangesAsync();
        });
        Assert.Equal(new LocalDate(2026, 11, 25), Assert.Single(await DaysAsync(shelf)).Day);
        Assert.Equal(0, await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default)));
    }

    private static Task StartAsync(StockedShelf shelf, (string Id, DateTimeOffset At, string Visitor)[] starts, int bytes = 100) => shelf.WithAsync(db =>
    {
        db.Downloads.AddRange(starts.Select(s => new Download { Id = s.Id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = MayDownloadWhy.Free, Visitor = s.Visitor, StartedAt = s.At }));
        db.DownloadEvents.AddRange(starts.Select(s => new DownloadEvent { DownloadId = s.Id, From = 0, To = bytes, BeginsAnswer = true, At = s.At }));
        return db.SaveChangesAsync();
    });

    private static Task<List<DayCount>> DaysAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        await new CountDownloads(db).RunAsync(default);
        await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
        return await db.DayCounts.AsNoTracking().OrderBy(c => c.Day).ToListAsync();
    });
}
