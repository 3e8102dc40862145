using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>What is added up from days beforehand says what the days say, whatever happens to them.</summary>
public sealed class FetchedCountsTests
{
    [Theory]
    [InlineData("2026-11-01", "2026-11-30", "2026-11", "2026-11")]
    [InlineData("2026-11-02", "2026-11-30", "2026-12", "2026-11")] // none
    [InlineData("2026-10-31", "2026-12-30", "2026-11", "2026-11")]
    [InlineData("2028-01-31", "2028-02-29", "2028-02", "2028-02")] // a leap year's February
    [InlineData("2028-02-01", "2028-02-28", "2028-02", "2028-01")] // not all of it
    [InlineData("2027-12-31", "2028-01-31", "2028-01", "2028-01")]
    [InlineData("2021-11-27", "2026-11-26", "2021-12", "2026-10")]
    [InlineData("2026-11-20", "2026-11-12", "2026-12", "2026-10")] // no day at all
    public void Whole_months_are_found_in_days(string from, string to, string first, string last)
    {
        var found = FetchedCounts.MonthsOf(new(LocalDatePattern.Iso.Parse(from).Value, LocalDatePattern.Iso.Parse(to).Value));
        Assert.Equal((first, last), (YearMonthPattern.Iso.Format(found.First), YearMonthPattern.Iso.Format(found.Last)));
    }

    /// <summary>Days from before the first to behind the last with counts ("2026-10-25 …"), or from within.</summary>
    internal static DayRange SomeRange(Random random, IReadOnlyList<string> counts)
    {
        var days = counts.Select(c => LocalDatePattern.Iso.Parse(c[..10]).Value).DefaultIfEmpty(new LocalDate(2026, 11, 25)).ToList();
        return new(days.Min().PlusDays(random.Next(-40, 3)), days.Max().PlusDays(random.Next(-2, 40)));
    }

    /// <summary>Of all boxes and of each: what a page asks, and the sum over the days' rows; and every month and day's sum against its rows.</summary>
    /// <param name="db">Counted and rolled up.</param>
    /// <param name="range">Of these days.</param>
    /// <param name="someBoxes">Draws three boxes that are asked about; null: each is.</param>
    internal static async Task RequireSameAsync(ShelfDb db, DayRange range, Random? someBoxes = null)
    {
        var days = await db.DayCounts.AsNoTracking().ToListAsync();
        var libraries = days.Select(d => (long?)d.LibraryId).Distinct();
        foreach (var library in (someBoxes is null ? libraries : libraries.OrderBy(_ => someBoxes.Next()).Take(3)).Append(null))
        {
            var asked = (await FetchedCounts.Of(db, library, range).GroupBy(c => new { c.LibraryId, c.ReleaseId, c.DropId, c.Kind, c.By }).Select(g => new
            {
                g.Key, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished), Ended = g.Sum(c => c.Ended),
                Requests = g.Sum(c => c.Requests), Resumes = g.Sum(c => c.Resumes), Bytes = g.Sum(c => c.Bytes),
                Left = g.Sum(c => c.Left), Again = g.Sum(c => c.LeftAgain), Covered = g.Sum(c => c.LeftCovered), Length = g.Sum(c => c.LeftLength),
            }).ToListAsync()).Select(s => $"{s.Key}: {s.Started} {s.Finished} {s.Ended} {s.Requests} {s.Resumes} {s.Bytes} {s.Left} {s.Again} {s.Covered} {s.Length}").Order(StringComparer.Ordinal);
            var added = days.Where(d => d.Day >= range.First && d.Day <= range.Last && (library is null || (d.LibraryId == library && d.DropId == 0)))
                .GroupBy(c => new { c.LibraryId, c.ReleaseId, c.DropId, c.Kind, c.By })
                .Select(g => $"{g.Key}: {g.Sum(c => c.Started)} {g.Sum(c => c.Finished)} {g.Sum(c => c.Ended)} {g.Sum(c => c.Requests)} {g.Sum(c => c.Resumes)} {g.Sum(c => c.Bytes)} {g.Sum(c => c.Left)} {g.Sum(c => c.LeftAgain)} {g.Sum(c => c.LeftCovered)} {g.Sum(c => c.LeftLength)}").Order(StringComparer.Ordinal);
            Assert.Equal(added, asked);
        }
        Assert.Equal(
            days.GroupBy(d => (d.Day.ToYearMonth(), d.LibraryId, d.ReleaseId, d.DropId, d.Kind, d.By))
                .Select(g => $"{g.Key}: {g.Sum(c => c.Started)} {g.Sum(c => c.Finished)} {g.Sum(c => c.Ended)} {g.Sum(c => c.Requests)} {g.Sum(c => c.Resumes)} {g.Sum(c => c.Bytes)} {g.Sum(c => c.Left)} {g.Sum(c => c.LeftAgain)} {g.Sum(c => c.LeftCovered)} {g.Sum(c => c.LeftLength)}").Order(StringComparer.Ordinal),
            (await db.MonthCounts.AsNoTracking().ToListAsync())
                .Select(c => $"{(c.Month, c.LibraryId, c.ReleaseId, c.DropId, c.Kind, c.By)}: {c.Started} {c.Finished} {c.Ended} {c.Requests} {c.Resumes} {c.Bytes} {c.Left} {c.LeftAgain} {c.LeftCovered} {c.LeftLength}").Order(StringComparer.Ordinal));
        Assert.Equal(
            days.Where(d => d.By is FetchedBy.Free or FetchedBy.Members).GroupBy(d => d.Day).OrderBy(g => g.Key).Select(g => (g.Key, g.Sum(c => c.Started), g.Sum(c => c.Finished))),
            (await db.DaySums.AsNoTracking().OrderBy(s => s.Day).ToListAsync()).Select(s => (s.Day, s.Started, s.Finished)));
    }

    /// <summary>Stops a running program at its nth command, be it question or change.</summary>
    internal sealed class StopsAt(int command) : DbCommandInterceptor
    {
        public int Seen { get; private set; }

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand dbCommand, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default) =>
            ++Seen == command ? throw new OperationCanceledException() : base.ReaderExecutingAsync(dbCommand, eventData, result, cancellationToken);

        public override ValueTask<InterceptionResult<int>> NonQueryExecutingAsync(
            DbCommand dbCommand, CommandEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default) =>
            ++Seen == command ? throw new OperationCanceledException() : base.NonQueryExecutingAsync(dbCommand, eventData, result, cancellationToken);
    }

    private static readonly DayRange Autumn = new(new(2026, 10, 5), new(2026, 12, 5));

    /// <summary>Downloads on both sides of the turn of a month, whole ones and broken-off ones.</summary>
    private static Task StartAsync(StockedShelf shelf, string name, int downloads) => shelf.WithAsync(db =>
    {
        var first = new DateTimeOffset(2026, 10, 30, 22, 0, 0, TimeSpan.Zero);
        for (var i = 0; i < downloads; i++)
        {
            var at = first.AddHours(i * 3);
            db.Downloads.Add(new Download { Id = $"{name}{i:00}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = MayDownloadWhy.Free, Visitor = $"{name}{i % 3}", StartedAt = at });
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = $"{name}{i:00}", From = 0, To = i % 4 == 0 ? 100 : shelf.Length, BeginsAnswer = true, At = at.AddMinutes(2) });
        }
        return db.SaveChangesAsync();
    });

    private static Task<string> AllAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        await RequireSameAsync(db, Autumn);
        var counts = await db.DayCounts.AsNoTracking().OrderBy(c => c.Day).ThenBy(c => c.By).ToListAsync();
        var people = await db.DayPeople.AsNoTracking().OrderBy(p => p.Day).ThenBy(p => p.LibraryId).ToListAsync();
        return string.Join('\n', counts.Select(c => $"{c.Day} {c.By} {c.Started} {c.Finished} {c.Ended} {c.Requests} {c.Bytes}").Concat(people.Select(p => $"{p.Day} {p.LibraryId} {p.People}")));
    });

    [Fact]
    public async Task Wherever_rolling_up_is_cut_off_months_say_what_days_say_and_the_next_run_brings_the_rest()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await StartAsync(shelf, "a", 20);
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        await StartAsync(shelf, "b", 20);
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        var states = new HashSet<string>(StringComparer.Ordinal);
        var isCutOff = true;
        for (var command = 1; isCutOff; command++)
        {
            await using (var db = shelf.Temp.Open(new StopsAt(command)))
            {
                try
                {
                    await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
                    isCutOff = false;
                }
                catch (OperationCanceledException)
                {
                    isCutOff = true;
                }
            }
            states.Add(await AllAsync(shelf));
        }
        // Each day of them went in by itself.
        Assert.Equal(await shelf.WithAsync(db => db.DayRolls.CountAsync()) + 1, states.Count);
        Assert.Equal(40, await shelf.WithAsync(db => db.DaySums.SumAsync(s => s.Started)));
        var whole = await AllAsync(shelf);
        await shelf.WithAsync(db => db.DayRolls.ExecuteDeleteAsync());
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal(whole, await AllAsync(shelf));
    }

    [Fact]
    public async Task Counts_and_roll_ups_at_the_same_time_come_to_what_one_comes_to()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        for (var round = 0; round < 3; round++)
        {
            await StartAsync(shelf, $"{round}", 30);
            await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => shelf.WithAsync(async db =>
            {
                await new CountDownloads(db) { PageSize = 7 }.RunAsync(default);
                return await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
            }))));
        }
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal(0, await shelf.WithAsync(db => db.DayRolls.CountAsync(r => r.Rolled != r.Changed)));
        var together = await AllAsync(shelf);
        await shelf.WithAsync(db => db.DownloadTallies.ExecuteDeleteAsync());
        await shelf.WithAsync(db => db.DayRolls.ExecuteDeleteAsync());
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal(await AllAsync(shelf), together);
        Assert.Equal(90, await shelf.WithAsync(db => db.DayCounts.SumAsync(c => c.Requests)));
    }

    /// <summary>Days of a shelf that kept no months yet, with a month's last and the next one's first day, a robot's count and a whole month's.</summary>
    [Fact]
    public async Task An_upgrade_adds_up_the_days_that_are_there()
    {
        await using var empty = new EmptyDatabase();
        await using (var db = empty.Open())
        {
            var all = db.Database.GetMigrations().ToList();
            await db.GetService<IMigrator>().MigrateAsync(all[all.FindIndex(m => m.EndsWith("_MonthCounts", StringComparison.Ordinal)) - 1]);
            await db.Database.ExecuteSqlAsync($"""
                INSERT INTO "DayCounts" ("Day", "LibraryId", "ReleaseId", "DropId", "Kind", "By", "Started", "Finished", "Ended", "Requests", "Resumes", "Bytes") VALUES
                ('2026-10-30', 1, 2, 0, 'Whole', 'Free', 3, 2, 2, 4, 1, 5000000000), ('2026-10-31', 1, 2, 0, 'Whole', 'Free', 5, 4, 4, 5, 0, 7),
                ('2026-10-31', 1, 2, 0, 'Whole', 'Robots', 9, 9, 9, 9, 0, 9), ('2026-11-01', 1, 2, 0, 'Whole', 'Free', 1, 0, 0, 1, 0, 1), ('2026-11-01', 1, 2, 4, 'Month', 'Members', 2, 2, 2, 2, 0, 2)
                """);
        }
        await using (var db = empty.Open())
            await empty.BringUpToDateAsync(db);
        await using (var db = empty.Open())
        {
            await RequireSameAsync(db, Autumn);
            Assert.Equal(5_000_000_007, await db.MonthCounts.Where(c => c.By == FetchedBy.Free && c.Month == new YearMonth(2026, 10)).SumAsync(c => c.Bytes));
            Assert.Equal([(30, 3), (31, 5), (1, 3)], (await db.DaySums.OrderBy(s => s.Day).ToListAsync()).Select(s => (s.Day.Day, s.Started)));
        }
    }
}
