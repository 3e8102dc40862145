using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>On random histories: <see cref="CountedHistoriesTests"/>.</summary>
public sealed class LetVisitorsGoTests
{
    private static readonly DateTimeOffset Day = new(2026, 9, 14, 0, 0, 0, TimeSpan.Zero);

    /// <summary>Three visitors and somebody signed in, a program that takes 41, one of whose ends on the day after, and a link that nobody used.</summary>
    private static Task FillAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        for (var i = 0; i <= RollUpDays.MostByAPerson; i++)
            Add($"p{i:00}", Day.AddHours(12).AddMinutes(10 * i), "program", i == RollUpDays.MostByAPerson ? Day.AddHours(25) : null);
        foreach (var (id, hour, visitor) in new[] { ("a", 1, "one"), ("b", 2, "one"), ("c", 3, "two"), ("d", 4, "three"), ("e", 30, "one of the next day"), ("f", 5, null) })
            Add(id, Day.AddHours(hour), visitor, null);
        // Pressed twice: once.
        Add("g", Day.AddHours(4).AddSeconds(20), "three", null);
        db.Downloads.Add(new Download { Id = "unused", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, MadeAt = Day.AddHours(6), Visitor = "four" });
        return await db.SaveChangesAsync();

        void Add(string id, DateTimeOffset at, string? visitor, DateTimeOffset? ends)
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = MayDownloadWhy.Free, PersonId = visitor is null ? 5 : null, Visitor = visitor, MadeAt = at, StartedAt = at });
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = ends is null ? 100 : shelf.Length, BeginsAnswer = true, At = ends ?? at });
        }
    });

    private static Task<int> CountAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        await new CountDownloads(db).RunAsync(default);
        return await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
    });

    private static async Task<int> AnewAsync(StockedShelf shelf)
    {
        await shelf.WithAsync(db => db.DayRolls.ExecuteUpdateAsync(s => s.SetProperty(r => r.Changed, r => r.Changed + 1)));
        return await CountAsync(shelf);
    }

    private static Task<string> FiguresAsync(StockedShelf shelf) => shelf.WithAsync(async db => string.Join("; ",
        (await db.DayCounts.AsNoTracking().OrderBy(c => c.Day).ToListAsync()).OrderBy(c => (c.Day, c.By)).Select(c => $"{c.Day:MM-dd} {c.By}: {c.Started} started, {c.Finished} finished")
            .Concat((await db.DayPeople.AsNoTracking().OrderBy(p => p.Day).ThenBy(p => p.LibraryId).ToListAsync()).Select(p => $"{p.Day:MM-dd} {(p.LibraryId == 0 ? "all" : "box")}: {p.People} people, {p.SignedIn} signed in"))));

    private static Task<List<string>> LeftAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
        (await db.Downloads.AsNoTracking().Where(d => d.Visitor != null).Select(d => d.Id).ToListAsync()).Order(StringComparer.Ordinal).ToList());

    private static Task<int> GoAsync(StockedShelf shelf, DateTimeOffset before, int batch = 7) => shelf.WithAsync(db => new LetVisitorsGo(db) { Batch = batch }.RunAsync(before, default));

    private const string Counted = "09-14 Free: 5 started, 0 finished; 09-14 Robots: 41 started, 0 finished; 09-15 Free: 1 started, 0 finished; 09-15 Robots: 0 started, 1 finished; "
        + "09-14 all: 4 people, 1 signed in; 09-14 box: 4 people, 1 signed in; 09-15 all: 1 people, 0 signed in; 09-15 box: 1 people, 0 signed in";

    [Fact]
    public async Task Who_was_one_visitor_goes_by_whole_days_and_every_figure_stays_also_when_its_day_is_made_anew()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FillAsync(shelf);
        // Not before the days are rolled up.
        Assert.Equal(0, await GoAsync(shelf, Day.AddDays(9)));
        await CountAsync(shelf);
        Assert.Equal(Counted, await FiguresAsync(shelf));
        // The day is not over then.
        Assert.Equal(0, await GoAsync(shelf, Day.AddDays(1).AddMilliseconds(-1)));
        // Its next day is still to be made anew, and so may ask who was a program.
        await shelf.WithAsync(db => db.DayRolls.Where(r => r.Day == new LocalDate(2026, 9, 15)).ExecuteUpdateAsync(s => s.SetProperty(r => r.Changed, 9)));
        Assert.Equal(0, await GoAsync(shelf, Day.AddDays(1)));
        await CountAsync(shelf);
        Assert.Equal(47, await GoAsync(shelf, Day.AddDays(1)));
        Assert.Equal(["e"], await LeftAsync(shelf));
        Assert.Equal(0, await GoAsync(shelf, Day.AddDays(1)));
        Assert.Equal(2, await AnewAsync(shelf));
        Assert.Equal(Counted, await FiguresAsync(shelf));

        Assert.Equal(1, await GoAsync(shelf, Day.AddDays(30)));
        Assert.Empty(await LeftAsync(shelf));
        await AnewAsync(shelf);
        Assert.Equal(Counted, await FiguresAsync(shelf));
        // Days of another zone have other bounds; its visitors are those that the day of this date was counted with.
        await shelf.WithAsync(db =>
        {
            db.Shops.Add(new Core.Catalog.Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Berlin" });
            return db.SaveChangesAsync();
        });
        await CountAsync(shelf);
        Assert.Equal(Counted, await FiguresAsync(shelf));
        // Who was deleted is no more among the people of a day that is made anew; its visitors are.
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null)));
        await AnewAsync(shelf);
        Assert.Equal(Counted.Replace("4 people, 1 signed in", "3 people, 0 signed in", StringComparison.Ordinal), await FiguresAsync(shelf));
    }

    [Fact]
    public async Task Wherever_it_is_stopped_no_figure_changes_and_the_next_run_goes_on()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FillAsync(shelf);
        await CountAsync(shelf);
        var stops = 0;
        for (var command = 1; ; command++)
        {
            await using (var db = shelf.Temp.Open(new FetchedCountsTests.StopsAt(command)))
            {
                try
                {
                    await new LetVisitorsGo(db) { Batch = 20 }.RunAsync(Day.AddDays(30), default);
                    break;
                }
                catch (OperationCanceledException)
                {
                    stops++;
                }
            }
            await AnewAsync(shelf);
            Assert.Equal(Counted, await FiguresAsync(shelf));
        }
        Assert.Empty(await LeftAsync(shelf));
        Assert.InRange(stops, 10, int.MaxValue);
        await AnewAsync(shelf);
        Assert.Equal(Counted, await FiguresAsync(shelf));
    }

    /// <summary>Put right again, days that had not come yet count their visitors, and those go when their own time is over.</summary>
    [Fact]
    public async Task A_clock_that_is_years_ahead_takes_no_visitor_from_days_to_come()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FillAsync(shelf);
        await CountAsync(shelf);
        Assert.Equal(48, await GoAsync(shelf, Day.AddYears(20)));
        Assert.Equal([new LocalDate(2026, 9, 14), new LocalDate(2026, 9, 15)], await shelf.WithAsync(db => db.KeptVisitors.Where(k => k.LibraryId == 0).OrderBy(k => k.Day).Select(k => k.Day).ToListAsync()));
        // What came while the clock was ahead keeps its own day alone.
        foreach (var (id, days) in new[] { ("ahead", 4_000), ("later", 40) })
        {
            await StartAsync(shelf, id, Day.AddDays(days));
            Assert.Equal(1, await CountAsync(shelf));
            Assert.Equal(1, await shelf.WithAsync(db => db.DayPeople.Where(p => p.LibraryId == 0).OrderByDescending(p => p.Day).Select(p => p.People).Skip(id == "ahead" ? 0 : 1).FirstAsync()));
            Assert.Equal(1, await GoAsync(shelf, Day.AddDays(days + 1)));
        }
        Assert.Equal(4, await shelf.WithAsync(db => db.KeptVisitors.CountAsync(k => k.LibraryId == 0)));
        Assert.Empty(await LeftAsync(shelf));
    }

    /// <summary>Anchorage's 13 September begins and ends eight hours after UTC's: what was begun on one as the 14th lies on the other before it.</summary>
    [Fact]
    public async Task A_run_that_was_broken_off_before_the_shop_moved_west_leaves_nobody_behind()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FillAsync(shelf);
        await CountAsync(shelf);
        for (var command = 1; !await shelf.WithAsync(db => db.KeptVisitors.AnyAsync()); command++)
        {
            await using var db = shelf.Temp.Open(new FetchedCountsTests.StopsAt(command));
            await Assert.ThrowsAnyAsync<OperationCanceledException>(() => new LetVisitorsGo(db).RunAsync(Day.AddDays(30), default));
        }
        Assert.Equal(48, (await LeftAsync(shelf)).Count);
        await shelf.WithAsync(db =>
        {
            db.Shops.Add(new Core.Catalog.Shop { Name = "Saltmarsh Sound Room", TimeZone = "America/Anchorage" });
            return db.SaveChangesAsync();
        });
        await CountAsync(shelf);
        Assert.Equal(48, await GoAsync(shelf, Day.AddDays(30)));
    }

    private static Task<int> StartAsync(StockedShelf shelf, string id, DateTimeOffset at) => shelf.WithAsync(db =>
    {
        db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = MayDownloadWhy.Free, Visitor = id, MadeAt = at, StartedAt = at });
        db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = 100, BeginsAnswer = true, At = at });
        return db.SaveChangesAsync();
    });
}
