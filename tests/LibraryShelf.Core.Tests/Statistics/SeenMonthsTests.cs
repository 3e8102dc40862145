using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using Microsoft.Extensions.Options;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>What was seen in a month says what its days say, whatever happens to them, and a page says what the days add up to.</summary>
public sealed class SeenMonthsTests
{
    private static readonly SightingKind[] Kinds = Enum.GetValues<SightingKind>();

    /// <summary>Every row of every month against the days' rows, added up by hand.</summary>
    private static async Task<string> RequireSameAsync(ShelfDb db)
    {
        var days = await db.Sightings.AsNoTracking().ToListAsync();
        var added = days.GroupBy(s => (s.Day.ToYearMonth(), s.Kind, s.LibraryId, s.Word)).Select(g => $"{g.Key} {g.Sum(s => s.Times)}").Order(StringComparer.Ordinal).ToList();
        Assert.Equal(added, (await db.MonthSightings.AsNoTracking().ToListAsync()).Select(s => $"{(s.Month, s.Kind, s.LibraryId, s.Word)} {s.Times}").Order(StringComparer.Ordinal));
        return string.Join('\n', days.Select(s => $"{s.Day} {s.Kind} {s.LibraryId} {s.Word} {s.Times}").Order(StringComparer.Ordinal));
    }

    /// <summary>The most seen first, words of as many by their code points, as many of them as are asked for; and how often all of them were.</summary>
    private static async Task RequireReadAsync(ShelfDb db, DayRange range, int most)
    {
        var days = await db.Sightings.AsNoTracking().Where(s => s.Day >= range.First && s.Day <= range.Last).ToListAsync();
        foreach (var (kind, isByBox) in Kinds.SelectMany(k => new[] { (k, true), (k, false) }))
        {
            var added = days.Where(s => s.Kind == kind).GroupBy(s => (s.Word, Box: isByBox ? s.LibraryId : 0)).Select(g => (g.Key.Word, g.Key.Box, Times: g.Sum(s => s.Times)))
                .OrderByDescending(s => s.Times).ThenBy(s => s.Word, StringComparer.Ordinal).ThenBy(s => s.Box).ToList();
            var seen = new ReadSeen(db);
            Assert.Equal(added.Take(most), (await seen.MostAsync(kind, range, isByBox, most, default)).Select(r => (r.Word, r.LibraryId, r.Times)));
            // What another range is asked of some words: the same sums, and nothing of a word that was not seen.
            string[] some = ["word 0", "word 3", "never"];
            var sums = await seen.SumsAsync(range, [new(kind, isByBox, some)], default);
            Assert.Equal(added.Where(s => some.Contains(s.Word)).Order(), sums.Words.Select(t => (t.Key.Word, t.Key.LibraryId, t.Value)).Order());
            Assert.Equal([(kind, added.Sum(s => (long)s.Times))], sums.All.Select(a => (a.Key, a.Value)));
        }
    }

    /// <summary>Of two kinds at once, one by box, as a second range is asked.</summary>
    private static async Task RequireSumsAsync(ShelfDb db, DayRange range)
    {
        var days = await db.Sightings.AsNoTracking().Where(s => s.Day >= range.First && s.Day <= range.Last).ToListAsync();
        var sums = await new ReadSeen(db).SumsAsync(range, [new(SightingKind.Referrer, true, ["word 1", "word 2"]), new(SightingKind.Search, false, ["word 2"])], default);
        Assert.Equal(
            days.Where(s => (s.Kind == SightingKind.Referrer && s.Word is ("word 1" or "word 2")) || (s.Kind == SightingKind.Search && s.Word == "word 2"))
                .GroupBy(s => (s.Kind, s.Word, s.Kind == SightingKind.Referrer ? s.LibraryId : 0)).Select(g => $"{g.Key} {g.Sum(s => s.Times)}").Order(StringComparer.Ordinal),
            sums.Words.Select(w => $"{w.Key} {w.Value}").Order(StringComparer.Ordinal));
        Assert.Equal(new[] { SightingKind.Referrer, SightingKind.Search }.Select(k => (k, days.Where(s => s.Kind == k).Sum(s => (long)s.Times))), sums.All.Select(a => (a.Key, a.Value)).Order());
    }

    private static void AddSome(Sightings seen, Random random)
    {
        for (var n = random.Next(1, 12); n > 0; n--)
            seen.Add(Kinds[random.Next(3)], random.Next(3), $"word {random.Next(6)}");
    }

    // Thirteen months and more, so that what is swept lies in months that are kept in part; on some days nothing is seen.
    [Fact]
    public async Task Any_history_of_writing_and_sweeping_leaves_months_that_say_what_days_say()
    {
        const int Seed = 20261127;
        var random = new Random(Seed);
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        var isSwept = 0;
        for (var step = 0; step < 120; step++)
        {
            shelf.Clock.Advance(TimeSpan.FromHours(random.Next(1, 24 * 9)));
            AddSome(seen, random);
            await using var db = shelf.Open();
            await new KeepSightings(db, seen).RunAsync(default);
            if (random.Next(4) == 0)
                isSwept += await new SweepSpent(db, shelf.Clock, Options.Create(new ShelfSettings())).RunAsync(default) > 0 ? 1 : 0;
            if (step % 4 != 0)
                continue;
            await RequireSameAsync(db);
            var today = LocalDate.FromDateTime(shelf.Clock.GetUtcNow().UtcDateTime);
            // From before the first, or the first of a month, to today or some day before.
            var first = random.Next(3) switch { 0 => new LocalDate(2000, 1, 1), 1 => today.PlusMonths(-random.Next(1, 9)).With(DateAdjusters.StartOfMonth), _ => today.PlusDays(-random.Next(400)) };
            var range = new DayRange(first, random.Next(2) == 0 ? today : today.PlusDays(-random.Next(60)));
            await RequireReadAsync(db, range, most: random.Next(1, 9));
            await RequireSumsAsync(db, range);
        }
        Assert.True(isSwept > 3, $"seed {Seed}: swept {isSwept} times");
    }

    [Fact]
    public async Task Five_years_are_read_from_months_and_so_is_the_month_that_runs()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        seen.Add(SightingKind.Search, 0, "bowed saw");
        await using var db = shelf.Open();
        await new KeepSightings(db, seen).RunAsync(default);
        // Days that say otherwise tell which of both was read.
        await db.Sightings.ExecuteUpdateAsync(s => s.SetProperty(r => r.Times, 50));
        var today = new LocalDate(2026, 11, 25);
        foreach (var (first, times) in new[] { (new LocalDate(2021, 11, 26), 1), (new LocalDate(2026, 11, 25), 1) })
            Assert.Equal([new SeenTimes("bowed saw", times)], await new ReadSeen(db).RunAsync(SightingKind.Search, new(first, today), 9, default));
        db.Sightings.Add(new Sighting { Day = today.PlusDays(1), Kind = SightingKind.Search, Word = "zither", Times = 1 });
        await db.SaveChangesAsync();
        Assert.Equal([new SeenTimes("bowed saw", 50)], await new ReadSeen(db).RunAsync(SightingKind.Search, new(new(2021, 11, 26), today), 9, default));
    }

    /// <summary>Stops a running program at its nth command.</summary>
    private sealed class StopsAt(int command) : DbCommandInterceptor
    {
        private int seen;

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand dbCommand, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default) =>
            ++seen == command ? throw new OperationCanceledException() : base.ReaderExecutingAsync(dbCommand, eventData, result, cancellationToken);

        public override ValueTask<InterceptionResult<int>> NonQueryExecutingAsync(
            DbCommand dbCommand, CommandEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default) =>
            ++seen == command ? throw new OperationCanceledException() : base.NonQueryExecutingAsync(dbCommand, eventData, result, cancellationToken);
    }

    [Fact]
    public async Task Wherever_writing_or_sweeping_is_cut_off_months_say_what_days_say()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        AddSome(seen, new Random(1));
        await using (var db = shelf.Open())
            await new KeepSightings(db, seen).RunAsync(default);
        await CutOffAsync(db => { AddSome(seen, new Random(2)); return new KeepSightings(db, seen).RunAsync(default); });
        shelf.Clock.Advance(TimeSpan.FromDays(420));
        await CutOffAsync(db => new SweepSpent(db, shelf.Clock, Options.Create(new ShelfSettings())).RunAsync(default));
        await using var after = shelf.Open();
        Assert.Equal([SightingKind.Answer], await after.MonthSightings.Select(s => s.Kind).Distinct().ToListAsync());

        async Task CutOffAsync(Func<ShelfDb, Task> work)
        {
            var states = new HashSet<string>(StringComparer.Ordinal);
            var isCutOff = true;
            for (var command = 1; isCutOff; command++)
            {
                await using (var db = shelf.Open(new StopsAt(command)))
                {
                    isCutOff = false;
                    try { await work(db); }
                    catch (OperationCanceledException) { isCutOff = true; }
                }
                await using var left = shelf.Open();
                states.Add(await RequireSameAsync(left));
            }
            // What was before, and all of it.
            Assert.Equal(2, states.Count);
        }
    }

    /// <summary>A shelf that kept no months yet: over a turn of the month, and a word of two boxes.</summary>
    [Fact]
    public async Task An_upgrade_adds_up_the_days_that_are_there()
    {
        await using var empty = new EmptyDatabase();
        await using (var db = empty.Open())
        {
            var all = db.Database.GetMigrations().ToList();
            await db.GetService<IMigrator>().MigrateAsync(all[all.FindIndex(m => m.EndsWith("_MonthSightings", StringComparison.Ordinal)) - 1]);
            await db.Database.ExecuteSqlAsync($"""
                INSERT INTO "Sightings" ("Day", "Kind", "LibraryId", "Word", "Times") VALUES
                ('2026-10-30', 'Referrer', 1, 'reeds.example', 3), ('2026-10-31', 'Referrer', 1, 'reeds.example', 5), ('2026-10-31', 'Referrer', 2, 'reeds.example', 9),
                ('2026-11-01', 'Referrer', 1, 'reeds.example', 7), ('2026-11-01', 'Answer', 0, '206', 2000000000)
                """);
        }
        await using (var db = empty.Open())
            await empty.BringUpToDateAsync(db);
        await using (var db = empty.Open())
        {
            await RequireSameAsync(db);
            Assert.Equal([2_000_000_000, 7, 8, 9], await db.MonthSightings.OrderBy(s => s.Kind).ThenByDescending(s => s.Month).ThenBy(s => s.LibraryId).Select(s => s.Times).ToListAsync());
            foreach (var from in new[] { "2020-01-01", "2026-10-31", "2026-11-01" })
                await RequireReadAsync(db, new(LocalDatePattern.Iso.Parse(from).Value, new(2026, 11, 20)), most: 5);
        }
    }
}
