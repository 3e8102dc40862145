using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>The fast count, in pieces and in any order, against the slow one on random histories (<see cref="Histories"/>).</summary>
public sealed class CountedHistoriesTests
{
    private const int Length = 24;

    /// <summary>An hour that comes twice and one that is left out (Lisbon, IANA tz database, rule EU), a leap day, the turn of a year, a plain day.</summary>
    private static readonly DateTimeOffset[] Nights =
    [
        new(2026, 10, 24, 22, 30, 0, TimeSpan.Zero), new(2027, 3, 27, 23, 30, 0, TimeSpan.Zero), new(2028, 2, 28, 23, 30, 0, TimeSpan.Zero),
        new(2026, 12, 31, 23, 30, 0, TimeSpan.Zero), new(2026, 11, 24, 12, 0, 0, TimeSpan.Zero),
    ];

    [Fact]
    public async Task The_fast_count_and_the_slow_one_agree_on_random_histories()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await StockAsync(shelf);
        for (var round = 0; round < Histories.Rounds; round++)
        {
            var name = $"round {round} of seed {Histories.Seed}";
            var random = new Random(Histories.Seed + round);
            var zone = DateTimeZoneProviders.Tzdb[random.Next(3) == 0 ? "Pacific/Kiritimati" : "Europe/Lisbon"];
            await ClearAsync(shelf, zone);
            var (downloads, events) = Invent(random, Nights[round % Nights.Length]);
            await WriteAsync(shelf, downloads);
            // In pieces, as they come, each counted and now and then rolled up.
            for (var at = 0; at < events.Count;)
            {
                var piece = events.Skip(at).Take(1 + random.Next(20 * Histories.Together)).ToList();
                at += piece.Count;
                await using var db = shelf.Open();
                db.DownloadEvents.AddRange(piece);
                await db.SaveChangesAsync();
                if (random.Next(2) == 0 || at == events.Count)
                    await new CountDownloads(db) { PageSize = 20 + random.Next(10 * Histories.Together) }.RunAsync(default);
                // Now and then the shop moves away, and back.
                if (at < events.Count && random.Next(6) == 0)
                    await ElsewhereAsync(db, shelf.Clock, zone, random);
                if (random.Next(2) == 0 || at == events.Count)
                    await new RollUpDays(db, shelf.Clock).RunAsync(default);
            }
            await using var look = shelf.Open();
            var slow = new SlowCounter(downloads, await look.DownloadEvents.AsNoTracking().ToListAsync(), _ => Length, zone);
            var (counts, people) = await ReadAsync(look);
            RequireSame(slow.Counts(), counts, name);
            RequireSame(slow.People(), people, name);
            RequireSame(slow.Months(), await MonthsAsync(look, shelf.Clock), name);
            RequireSame(slow.CountsOfMonths(), await CountsOfMonthsAsync(look), name);
            RequireSame(slow.Sums(), await SumsAsync(look), name);
            // There is something to compare.
            Assert.InRange(counts.Count, 2 * Histories.Together, int.MaxValue);
            await FetchedCountsTests.RequireSameAsync(look, FetchedCountsTests.SomeRange(random, slow.Counts()), someBoxes: random);

            // From nothing it comes to the same.
            await look.DownloadTallies.ExecuteDeleteAsync();
            await look.DayRolls.ExecuteDeleteAsync();
            await new CountDownloads(look).RunAsync(default);
            await new RollUpDays(look, shelf.Clock).RunAsync(default);
            var again = await ReadAsync(look);
            RequireSame(counts, again.Counts, name + ", from nothing");
            RequireSame(people, again.People, name + ", from nothing");
            RequireSame(slow.CountsOfMonths(), await CountsOfMonthsAsync(look), name + ", from nothing");
            RequireSame(slow.Sums(), await SumsAsync(look), name + ", from nothing");
            if (round % 3 == 0)
                await LetVisitorsGoAsync(look, shelf.Clock, round % 2 == 0 ? zone : null, random, name);
            await MergeAndDeleteAsync(look, shelf.Clock);
            await FetchedCountsTests.RequireSameAsync(look, FetchedCountsTests.SomeRange(random, slow.Counts()), someBoxes: random);
        }
    }

    /// <summary>When what told visitors apart is gone, all days made anew come to the same; in another zone and back too.</summary>
    private static async Task LetVisitorsGoAsync(ShelfDb db, TimeProvider clock, DateTimeZone? home, Random random, string name)
    {
        var before = await ReadAsync(db);
        Assert.InRange(await new LetVisitorsGo(db) { Batch = 20 + random.Next(400) }.RunAsync(new DateTimeOffset(2030, 1, 1, 0, 0, 0, TimeSpan.Zero), default), Histories.Together, int.MaxValue);
        Assert.False(await db.Downloads.AnyAsync(d => d.Visitor != null));
        await db.DayRolls.ExecuteUpdateAsync(s => s.SetProperty(r => r.Changed, r => r.Changed + 1));
        if (home is not null)
            await ElsewhereAsync(db, clock, home, random);
        await new RollUpDays(db, clock).RunAsync(default);
        var after = await ReadAsync(db);
        RequireSame(before.Counts, after.Counts, name + ", visitors gone");
        RequireSame(before.People, after.People, name + ", visitors gone");
    }

    private static void RequireSame(List<string> slow, List<string> fast, string name) =>
        Assert.True(slow.SequenceEqual(fast), $"{name}:\n{string.Join('\n', slow.Except(fast))}\nbut\n{string.Join('\n', fast.Except(slow))}");

    /// <summary>What the rows of downloads see, in each history, of two accounts that become one, and of one that is deleted.</summary>
    private static async Task MergeAndDeleteAsync(ShelfDb db, TimeProvider clock)
    {
        var theirs = await (from d in db.Downloads where d.PersonId % 10 == 1 join t in db.DownloadTallies on d.Id equals t.DownloadId where t.StartedAt != null select t.StartedAt!.Value).ToListAsync();
        await new MarkDays(db).RunAsync(theirs, default);
        await db.Downloads.Where(d => d.PersonId % 10 == 1).ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, d => d.PersonId + 1));
        await new RollUpDays(db, clock).RunAsync(default);
        // Deleting has no day made anew.
        await db.Downloads.Where(d => d.PersonId % 10 == 2).ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null));
        Assert.Equal(0, await new RollUpDays(db, clock).RunAsync(default));
    }

    private static async Task ElsewhereAsync(ShelfDb db, TimeProvider clock, DateTimeZone home, Random random)
    {
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, "America/Anchorage"));
        await new RollUpDays(db, clock).RunAsync(default);
        await FetchedCountsTests.RequireSameAsync(db, new(new(2026, 10, 1), new(2028, 3, 31)), someBoxes: random);
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, home.Id));
    }

    private static async Task<List<string>> MonthsAsync(ShelfDb db, TimeProvider clock)
    {
        await new RollUpMonths(db, clock) { Pause = TimeSpan.Zero }.RunAsync(default);
        var months = (await db.MonthPeople.AsNoTracking().Where(p => p.SignedIn > 0).ToListAsync()).ConvertAll(p => $"{p.Month:uuuu-MM} library {p.LibraryId}: {p.SignedIn} signed in, {p.Free} free, {p.Members} for members");
        months.Sort(StringComparer.Ordinal);
        return months;
    }

    private static async Task<List<string>> CountsOfMonthsAsync(ShelfDb db)
    {
        var counts = (await db.MonthCounts.AsNoTracking().ToListAsync()).ConvertAll(c => $"{c.Month:uuuu-MM} release {c.ReleaseId} month {c.DropId} {c.Kind} {c.By}: {c.Started} started, {c.Finished} finished, {c.Ended} ended, {c.Requests} requests, {c.Resumes} resumed, {c.Bytes} bytes; {c.Left} left, {c.LeftAgain} asked again, {c.LeftCovered} of {c.LeftLength} bytes");
        counts.Sort(StringComparer.Ordinal);
        return counts;
    }

    private static async Task<List<string>> SumsAsync(ShelfDb db) =>
        (await db.DaySums.AsNoTracking().OrderBy(s => s.Day).ToListAsync()).ConvertAll(s => $"{s.Day:uuuu-MM-dd}: {s.Started} started, {s.Finished} finished");

    private static (List<Download> Downloads, List<DownloadEvent> Events) Invent(Random random, DateTimeOffset night)
    {
        var (downloads, events) = (new List<Download>(), new List<DownloadEvent>());
        for (var history = 0; history < Histories.Together; history++)
            InventOne(random, night, history, downloads, events);
        return (downloads, [.. events.OrderBy(_ => random.Next())]);
    }

    private static void InventOne(Random random, DateTimeOffset night, int history, List<Download> downloads, List<DownloadEvent> events)
    {
        var isMany = random.Next(12) == 0;
        for (var i = 0; i < (isMany ? 50 : 2 + random.Next(14)); i++)
        {
            var place = random.Next(isMany ? 1 : 3);
            var archive = (history * 3) + 1 + place;
            var person = random.Next(3) == 0 ? (history * 10) + random.Next(1, 3) : (long?)null;
            var download = new Download
            {
                Id = $"d{random.Next(1_000_000):000000}-{history}-{i}", ArchiveId = archive, ReleaseId = archive, LibraryId = (history * 2) + (place == 2 ? 2 : 1), PersonId = isMany ? null : person,
                Visitor = person is null || isMany ? (isMany ? $"busy{history}" : random.Next(4) == 0 ? null : $"v{random.Next(3)} of {history}") : null,
                IsRobot = (person is null || isMany) && random.Next(6) == 0,
                FromReleaseId = random.Next(4) == 0 ? (history * 3) + 1 : null, DropId = random.Next(6) == 0 ? 7 : null,
                Why = (MayDownloadWhy)random.Next((int)MayDownloadWhy.Maker + 1), StartedAt = night.AddSeconds(random.Next(8) * 15 + random.Next(3) * (isMany ? 1 : 3_600)),
            };
            download.MadeAt = download.StartedAt!.Value.AddSeconds(-random.Next(100));
            downloads.Add(download);
            for (var n = random.Next(5); n >= 0; n--)
            {
                var (from, to) = random.Next(3) switch { 0 => (0, Length), 1 => (0, 2), _ => (random.Next(Length / 2), Length / 2 + random.Next(Length / 2)) };
                var isEvidence = random.Next(5) == 0 && to > from;
                if (to > from)
                    events.Add(new() { DownloadId = download.Id, From = isEvidence ? 0 : from, To = to, IsEvidence = isEvidence, BeginsAnswer = !isEvidence && random.Next(3) > 0, At = download.StartedAt!.Value.AddSeconds(random.Next(7_200)) });
            }
        }
    }

    private static async Task<(List<string> Counts, List<string> People)> ReadAsync(ShelfDb db)
    {
        var counts = (await db.DayCounts.AsNoTracking().ToListAsync()).ConvertAll(c => $"{c.Day:uuuu-MM-dd} release {c.ReleaseId} month {c.DropId} {c.Kind} {c.By}: {c.Started} started, {c.Finished} finished, {c.Ended} ended, {c.Requests} requests, {c.Resumes} resumed, {c.Bytes} bytes; {c.Left} left, {c.LeftAgain} asked again, {c.LeftCovered} of {c.LeftLength} bytes");
        var people = (await db.DayPeople.AsNoTracking().Where(p => p.People > 0).ToListAsync()).ConvertAll(p => $"{p.Day:uuuu-MM-dd} library {p.LibraryId}: {p.People} people, {p.SignedIn} signed in, {p.Free} free, {p.Members} for members");
        counts.Sort(StringComparer.Ordinal);
        people.Sort(StringComparer.Ordinal);
        return (counts, people);
    }

    private static async Task StockAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Lisbon" });
        for (var i = 1; i <= 3 * Histories.Together; i++)
            db.Archives.Add(new Archive { Id = i, ReleaseId = i, RecipeSha256 = $"{i}", Length = Length, FileName = $"{i}.zip" });
        await db.SaveChangesAsync();
    }

    private static async Task ClearAsync(TempShelf shelf, DateTimeZone zone)
    {
        await using var db = shelf.Open();
        await db.DownloadEvents.ExecuteDeleteAsync();
        await db.DownloadTallies.ExecuteDeleteAsync();
        await db.Downloads.ExecuteDeleteAsync();
        await CountedDay.DeleteAllAsync(db, default);
        await db.DayRolls.ExecuteDeleteAsync();
        await db.KeptVisitors.ExecuteDeleteAsync();
        await db.MonthPeople.ExecuteDeleteAsync();
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, zone.Id));
    }

    private static async Task WriteAsync(TempShelf shelf, List<Download> downloads)
    {
        await using var db = shelf.Open();
        db.Downloads.AddRange(downloads);
        await db.SaveChangesAsync();
    }
}
