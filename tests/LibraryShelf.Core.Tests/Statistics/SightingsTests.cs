using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class SightingsTests
{
    private static Task<int> KeepAsync(TempShelf shelf, Sightings seen) => new KeepSightings(shelf.Open(), seen).RunAsync(default);

    private static async Task<List<string>> RowsAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return [.. (await db.Sightings.AsNoTracking().ToListAsync()).Select(s => $"{s.Day:uuuu-MM-dd} {s.Kind} {s.LibraryId} {s.Word} {s.Times}").Order(StringComparer.Ordinal)];
    }

    [Fact]
    public async Task What_was_seen_is_added_to_the_days_rows()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        Assert.Equal(0, await KeepAsync(shelf, seen));
        foreach (var status in new[] { "206", "206", "200" })
            seen.Add(SightingKind.Answer, 0, status);
        seen.Add(SightingKind.Referrer, 3, "reeds.example");
        Assert.Equal(3, await KeepAsync(shelf, seen));
        seen.Add(SightingKind.Answer, 0, "206");
        seen.Add(SightingKind.Referrer, 4, "reeds.example");
        await KeepAsync(shelf, seen);
        Assert.Equal(["2026-11-25 Answer 0 200 1", "2026-11-25 Answer 0 206 3", "2026-11-25 Referrer 3 reeds.example 1", "2026-11-25 Referrer 4 reeds.example 1"], await RowsAsync(shelf));
        Assert.True(seen.IsEmpty);
    }

    [Fact]
    public async Task Two_that_write_at_the_same_time_lose_nothing()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (one, other) = (new Sightings(shelf.Clock), new Sightings(shelf.Clock));
        for (var round = 0; round < 8; round++)
        {
            foreach (var seen in new[] { one, other })
                foreach (var word in new[] { "kettle", "reeds", $"{round}" })
                    seen.Add(SightingKind.Search, 0, word);
            await Task.WhenAll(Task.Run(() => KeepAsync(shelf, one)), Task.Run(() => KeepAsync(shelf, other)));
        }
        Assert.Equal(Enumerable.Range(0, 8).Select(round => $"2026-11-25 Search 0 {round} 2").Concat(["2026-11-25 Search 0 kettle 16", "2026-11-25 Search 0 reeds 16"]), await RowsAsync(shelf));
    }

    // Kathmandu is UTC+05:45 all year, so its midnight is 18:15 UTC (IANA tz database, Asia/Kathmandu).
    [Fact]
    public async Task A_day_is_a_day_of_the_shop_also_where_midnight_is_no_whole_hour()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Asia/Kathmandu" });
            await db.SaveChangesAsync();
        }
        var seen = new Sightings(shelf.Clock);
        shelf.Clock.SetUtcNow(new(2026, 11, 25, 18, 14, 59, TimeSpan.Zero));
        seen.Add(SightingKind.Search, 0, "before");
        shelf.Clock.SetUtcNow(new(2026, 11, 25, 18, 15, 0, TimeSpan.Zero));
        seen.Add(SightingKind.Search, 0, "after");
        await KeepAsync(shelf, seen);
        Assert.Equal(["2026-11-25 Search 0 before 1", "2026-11-26 Search 0 after 1"], await RowsAsync(shelf));
    }

    [Fact]
    public async Task Made_up_words_fill_neither_memory_nor_table_and_are_still_counted()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        for (var i = 0; i < 5_000; i++)
            seen.Add(SightingKind.Search, 0, $"word {i}");
        seen.Add(SightingKind.Search, 0, new string('x', 500));
        await KeepAsync(shelf, seen);
        await using var db = shelf.Open();
        var rows = await db.Sightings.AsNoTracking().ToListAsync();
        Assert.InRange(rows.Count, 2, KeepSightings.MostWordsADay + 1);
        Assert.Equal(5_001, rows.Sum(r => r.Times));
        Assert.All(rows, r => Assert.InRange(r.Word.Length, 1, Sighting.MostLetters));
        Assert.Contains(rows, r => r.Word == Sightings.Others);
    }

    // Anybody may ask for /?find= with any of these: half of a pair where it is cut off, half of one as it came, a NUL, which PostgreSQL refuses.
    [Theory]
    [InlineData("abcdefghijklmnopqrstuvwxyz abcdefghijklmnopqrstuvwxyz abcde\U0001F41A", "abcdefghijklmnopqrstuvwxyz abcdefghijklmnopqrstuvwxyz abcde")]
    [InlineData("a(half)", "a\ufffd")]
    [InlineData("a\0b", "ab")]
    public async Task Text_that_is_none_is_kept_as_text_and_keeps_nothing_else_from_being_written(string typed, string kept)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        for (var times = 1; times <= 3; times++)
        {
            seen.Add(SightingKind.Search, 0, typed.Replace("(half)", "\ud83d", StringComparison.Ordinal));
            seen.Add(SightingKind.Answer, 0, "206");
            await KeepAsync(shelf, seen);
        }
        Assert.Equal(["2026-11-25 Answer 0 206 3", $"2026-11-25 Search 0 {kept} 3"], await RowsAsync(shelf));
    }

    [Fact]
    public async Task What_the_database_refuses_is_let_go_alone()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
            await db.Database.ExecuteSqlRawAsync(db.Database.ProviderName!.EndsWith("Sqlite", StringComparison.Ordinal)
                ? """CREATE TRIGGER refuse BEFORE INSERT ON "Sightings" WHEN NEW."Word" LIKE 'bad%' BEGIN SELECT RAISE(ABORT, 'refused'); END"""
                : """ALTER TABLE "Sightings" ADD CONSTRAINT refuse CHECK ("Word" NOT LIKE 'bad%')""");
        var seen = new Sightings(shelf.Clock);
        foreach (var word in new[] { "kettle", "bad one", "reeds", "bad two", "zither" })
            seen.Add(SightingKind.Search, 0, word);
        seen.Add(SightingKind.Answer, 0, "206");
        Assert.Equal(4, await KeepAsync(shelf, seen));
        Assert.Equal(["2026-11-25 Answer 0 206 1", "2026-11-25 Search 0 kettle 1", "2026-11-25 Search 0 reeds 1", "2026-11-25 Search 0 zither 1"], await RowsAsync(shelf));
        Assert.True(seen.IsEmpty);
    }

    /// <summary>A connection that goes refuses nothing: all of it is there the next time.</summary>
    [Fact]
    public async Task What_a_connection_that_went_kept_from_being_written_is_there_the_next_time()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        foreach (var word in new[] { "kettle", "reeds" })
            seen.Add(SightingKind.Search, 0, word);
        await using (var db = shelf.Open())
        {
            db.SavingChanges += (_, _) => throw new DbUpdateException("It went.", new TimeoutException());
            await Assert.ThrowsAsync<DbUpdateException>(() => new KeepSightings(db, seen).RunAsync(default));
        }
        await KeepAsync(shelf, seen);
        Assert.Equal(["2026-11-25 Search 0 kettle 1", "2026-11-25 Search 0 reeds 1"], await RowsAsync(shelf));
    }

    [Fact]
    public async Task What_could_not_be_written_is_there_the_next_time()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var seen = new Sightings(shelf.Clock);
        seen.Add(SightingKind.Answer, 0, "206");
        await using (var db = shelf.Open())
            await Assert.ThrowsAnyAsync<OperationCanceledException>(() => new KeepSightings(db, seen).RunAsync(new CancellationToken(canceled: true)));
        seen.Add(SightingKind.Answer, 0, "206");
        await KeepAsync(shelf, seen);
        Assert.Equal(["2026-11-25 Answer 0 206 2"], await RowsAsync(shelf));
    }

    [Fact]
    public async Task Words_and_hosts_go_after_thirteen_months_and_bare_numbers_stay()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        foreach (var (day, kind) in new[] { (24, SightingKind.Search), (24, SightingKind.Referrer), (24, SightingKind.Answer), (25, SightingKind.Search) })
            db.Sightings.Add(new Sighting { Day = new LocalDate(2025, 10, day), Kind = kind, Word = "w", Times = 1 });
        await db.SaveChangesAsync();
        await new SweepSpent(db, shelf.Clock, Options.Create(new ShelfSettings())).RunAsync(default);
        Assert.Equal(["2025-10-24 Answer 0 w 1", "2025-10-25 Search 0 w 1"], await RowsAsync(shelf));
    }
}
