using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// Who is on which version, in pieces and in any order, against the slow one on random histories (<see cref="Histories"/>); after two accounts were made one, and
/// after somebody was deleted.
/// </summary>
public sealed class RollUpVersionsTests
{
    /// <summary>People and boxes of one history.</summary>
    private const int Many = 4, Boxes = 2;

    private const int Length = 24;

    /// <summary>An hour that comes twice and one that is left out (Lisbon, IANA tz database, rule EU), a leap day, the turn of a year, a plain day.</summary>
    private static readonly DateTimeOffset[] Nights =
    [
        new(2026, 10, 22, 23, 30, 0, TimeSpan.Zero), new(2027, 3, 25, 23, 30, 0, TimeSpan.Zero), new(2028, 2, 27, 23, 30, 0, TimeSpan.Zero),
        new(2026, 12, 29, 23, 30, 0, TimeSpan.Zero), new(2026, 11, 22, 12, 0, 0, TimeSpan.Zero),
    ];

    [Fact]
    public async Task The_fast_one_and_the_slow_one_agree_on_random_histories()
    {
        await using var shelf = await TempShelf.MakeAsync();
        for (var round = 0; round < Histories.Rounds; round++)
        {
            var random = new Random(Histories.Seed + round);
            var zone = DateTimeZoneProviders.Tzdb[random.Next(3) == 0 ? "Pacific/Kiritimati" : "Europe/Lisbon"];
            var night = Nights[round % Nights.Length];
            var versions = await StockAsync(shelf, zone, night, random);
            var events = await InventAsync(shelf, versions, night, random);
            // In pieces, as they come, each counted and now and then worked out.
            for (var at = 0; at < events.Count;)
            {
                var piece = events.Skip(at).Take(1 + random.Next(20 * Histories.Together)).ToList();
                at += piece.Count;
                await using var db = shelf.Open();
                db.DownloadEvents.AddRange(piece);
                await db.SaveChangesAsync();
                if (random.Next(2) == 0 || at == events.Count)
                    await new CountDownloads(db) { PageSize = 20 + random.Next(10 * Histories.Together) }.RunAsync(default);
                if (random.Next(2) == 0)
                    await new RollUpVersions(db, shelf.Clock) { AtATime = 1 + random.Next(Many * Histories.Together), MostPieces = 1 + random.Next(3) }.RunAsync(default);
            }
            var all = Enumerable.Range(0, Histories.Together).ToList();
            var name = $"round {round} of seed {Histories.Seed}";
            await AgreeAsync(shelf, versions, zone, night, name, all);
            var some = all.OrderBy(_ => random.Next()).Take(3).ToList();
            foreach (var history in some)
            {
                await using var db = shelf.Open();
                Assert.IsType<MergeOutcome.Merged>(await new MergePeople(db, shelf.Clock).RunAsync($"p{IdOf(history, 0)}@example.org", $"p{IdOf(history, 1)}@example.org", default));
                Assert.False(await db.PersonVersions.AnyAsync(v => v.PersonId == IdOf(history, 1)));
            }
            await AgreeAsync(shelf, versions, zone, night, name + ", merged", some, isDone: true);
            some = [.. all.OrderBy(_ => random.Next()).Take(3)];
            foreach (var history in some)
            {
                await using var db = shelf.Open();
                await using var transaction = await db.Database.BeginTransactionAsync();
                await new DeletedRows(db, (await PersonRows.FindAsync(db, IdOf(history, 2), default))!, shelf.Clock.GetUtcNow()).GoAsync(default);
                await transaction.CommitAsync();
                Assert.False(await db.PersonVersions.AnyAsync(v => v.PersonId == IdOf(history, 2)));
            }
            await AgreeAsync(shelf, versions, zone, night, name + ", deleted", some, isDone: true);
            // From nothing it comes to the same, going on after each stop; so it does in days of another zone.
            await FromNothingAsync(shelf);
            await AgreeAsync(shelf, versions, zone, night, name + ", from nothing", [.. all.OrderBy(_ => random.Next()).Take(8)], isDone: true);
            var other = DateTimeZoneProviders.Tzdb["America/St_Johns"];
            await using var look = shelf.Open();
            await look.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, other.Id));
            await AgreeAsync(shelf, versions, other, night, name + ", elsewhere", [.. all.OrderBy(_ => random.Next()).Take(8)]);
        }
    }

    private static long IdOf(int history, int person) => (history * 10) + person + 1;

    private static async Task<List<SlowVersion>> StockAsync(TempShelf shelf, DateTimeZone zone, DateTimeOffset night, Random random)
    {
        await using var db = shelf.Open();
        await db.DownloadEvents.ExecuteDeleteAsync();
        await db.DownloadTallies.ExecuteDeleteAsync();
        await db.Downloads.ExecuteDeleteAsync();
        await db.PersonVersions.ExecuteDeleteAsync();
        await db.VersionMoves.ExecuteDeleteAsync();
        await db.VersionMarks.ExecuteDeleteAsync();
        await db.VersionRolls.ExecuteDeleteAsync();
        await db.DayRolls.ExecuteDeleteAsync();
        await db.DropReleases.ExecuteDeleteAsync();
        await db.Drops.ExecuteDeleteAsync();
        await db.Archives.ExecuteDeleteAsync();
        await db.Outbox.ExecuteDeleteAsync();
        await db.Deletions.ExecuteDeleteAsync();
        await db.Releases.ExecuteDeleteAsync();
        await db.Libraries.ExecuteDeleteAsync();
        await db.Shops.ExecuteDeleteAsync();
        await db.Users.ExecuteDeleteAsync();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = zone.Id });
        foreach (var id in Enumerable.Range(0, Many * Histories.Together).Select(i => IdOf(i / Many, i % Many)))
            db.Users.Add(new Person { Id = id, Email = $"p{id}@example.org", NormalizedEmail = $"P{id}@EXAMPLE.ORG", UserName = $"p{id}", NormalizedUserName = $"P{id}", SecurityStamp = "s" });
        // The order of the ids is not that of precedence: SemVer 2.0.0 §11 has 1.0.0-rc.1 < 1.0.0 < 1.9.0 < 1.10.0.
        (string Number, int Place)[] numbers = [("1.9.0", 3), ("1.10.0", 4), ("1.0.0-rc.1", 1), ("1.0.0", 2)];
        var versions = new List<SlowVersion>();
        for (var library = 1; library <= Boxes * Histories.Together; library++)
        {
            db.Libraries.Add(new Library { Id = library, Slug = $"box{library}", Title = $"Box {library}" });
            foreach (var (number, place) in numbers)
            {
                var id = library * 10 + versions.Count % 4;
                DateTimeOffset? outAt = random.Next(5) == 0 ? null : night.AddHours(random.Next(96));
                var release = new Release { Id = id, LibraryId = library, Number = number, SealedAt = night, PublishedAt = outAt };
                db.Releases.Add(release);
                db.Archives.Add(new Archive { Id = id, ReleaseId = id, RecipeSha256 = $"{id}", Length = Length, FileName = $"{id}.zip" });
                versions.Add(new(id, library, place, outAt));
            }
        }
        for (var history = 0; history < Histories.Together; history++)
        {
            db.Drops.Add(new Drop { Id = history + 1, Month = new YearMonth(2026, 11).PlusMonths(history) });
            // Two of one library, and one of the other.
            db.DropReleases.AddRange(new[] { 10L, 11L, 22L }.Select((id, i) => new DropRelease { DropId = history + 1, ReleaseId = (history * 10 * Boxes) + id, Place = i }));
        }
        await db.SaveChangesAsync();
        return versions;
    }

    private static async Task<List<DownloadEvent>> InventAsync(TempShelf shelf, List<SlowVersion> versions, DateTimeOffset night, Random random)
    {
        var (downloads, events) = (new List<Download>(), new List<DownloadEvent>());
        for (var history = 0; history < Histories.Together; history++)
            InventOne(versions.FindAll(v => HistoryOf(v.LibraryId) == history), night, history, random, downloads, events);
        await using var db = shelf.Open();
        db.Downloads.AddRange(downloads);
        await db.SaveChangesAsync();
        return [.. events.OrderBy(_ => random.Next())];
    }

    private static int HistoryOf(long libraryId) => (int)(libraryId - 1) / Boxes;

    private static void InventOne(List<SlowVersion> versions, DateTimeOffset night, int history, Random random, List<Download> downloads, List<DownloadEvent> events)
    {
        var many = 4 + random.Next(20);
        for (var i = 0; i < many; i++)
        {
            var version = versions[random.Next(versions.Count)];
            var first = versions[0];
            var isMonth = random.Next(6) == 0;
            var started = night.AddHours(random.Next(120)).AddMinutes(random.Next(4) * 15);
            downloads.Add(new Download
            {
                Id = $"d{random.Next(1_000_000):000000}-{history}-{i}", ArchiveId = version.Id, ReleaseId = isMonth ? first.Id : version.Id, LibraryId = isMonth ? first.LibraryId : version.LibraryId,
                PersonId = random.Next(6) == 0 ? null : IdOf(history, random.Next(Many)), DropId = isMonth ? history + 1 : null,
                FromReleaseId = random.Next(4) == 0 ? first.Id : null, Why = (MayDownloadWhy)random.Next((int)MayDownloadWhy.Maker + 1), StartedAt = started,
            });
            // Most are finished, in two pieces that may come in any order.
            var end = random.Next(5) == 0 ? Length - 1 : Length;
            var second = started.AddMinutes(random.Next(300));
            events.Add(new() { DownloadId = downloads[^1].Id, From = 0, To = 12, BeginsAnswer = true, At = started });
            events.Add(new() { DownloadId = downloads[^1].Id, From = 12, To = end, At = second });
        }
    }

    private static async Task FromNothingAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        await db.PersonVersions.ExecuteDeleteAsync();
        await db.VersionMoves.ExecuteDeleteAsync();
        await db.VersionMarks.ExecuteDeleteAsync();
        await db.VersionRolls.ExecuteDeleteAsync();
        for (var runs = 0; ; runs++)
        {
            // A context of its own, as after a stop.
            await using var again = shelf.Open();
            if (await new RollUpVersions(again, shelf.Clock) { AtATime = 9, MostPieces = 5 }.RunAsync(default))
                break;
            Assert.InRange(runs, 0, Many * Histories.Together / 45);
        }
    }

    /// <param name="shelf">Where it is worked out.</param>
    /// <param name="versions">All.</param>
    /// <param name="zone">The shop's.</param>
    /// <param name="night">When it begins.</param>
    /// <param name="name">Says which it is.</param>
    /// <param name="histories">Of these, days are looked at; who has what today of all.</param>
    /// <param name="isDone">Nothing is left to work out.</param>
    private static async Task AgreeAsync(TempShelf shelf, List<SlowVersion> versions, DateTimeZone zone, DateTimeOffset night, string name, List<int> histories, bool isDone = false)
    {
        await using var db = shelf.Open();
        Assert.True(!isDone || !await RollUpVersions.IsLeftAsync(db, default), name);
        for (var runs = 0; !await new RollUpVersions(db, shelf.Clock).RunAsync(default); runs++)
            Assert.InRange(runs, 0, 3);
        var finished = await db.DownloadTallies.AsNoTracking().Where(t => t.FinishedAt != null).ToDictionaryAsync(t => t.DownloadId, t => t.FinishedAt!.Value);
        var inMonth = (await db.DropReleases.AsNoTracking().ToListAsync()).ToLookup(r => r.DropId, r => r.ReleaseId);
        var downloads = (await db.Downloads.AsNoTracking().ToListAsync()).ToLookup(d => HistoryOf(d.LibraryId));
        var slow = Enumerable.Range(0, Histories.Together).Select(h => new SlowVersions([.. downloads[h]], finished, inMonth, versions.FindAll(v => HistoryOf(v.LibraryId) == h), zone)).ToList();

        var today = (await db.PersonVersions.AsNoTracking().Where(v => v.NextReleaseId == 0).ToListAsync())
            .ConvertAll(v => $"person {v.PersonId} library {v.LibraryId}: {v.ReleaseId} since {v.Since.ToUnixTimeMilliseconds()}");
        today.Sort(StringComparer.Ordinal);
        var expected = slow.SelectMany(s => s.Today()).Order(StringComparer.Ordinal).ToList();
        Assert.True(expected.SequenceEqual(today), $"{name}:\n{string.Join('\n', expected.Except(today))}\nbut\n{string.Join('\n', today.Except(expected))}");

        shelf.Clock.AdjustTime(night.AddDays(8));
        var last = Instant.FromDateTimeOffset(night.AddDays(8)).InZone(zone).Date;
        foreach (var library in versions.Where(v => v.OutAt is not null && histories.Contains(HistoryOf(v.LibraryId))).Select(v => v.LibraryId).Distinct())
            await AgreeOfDaysAsync(db, shelf, library, slow[HistoryOf(library)], versions.FindAll(v => v.LibraryId == library && v.OutAt is not null), last, name);
    }

    private static async Task AgreeOfDaysAsync(ShelfDb db, TempShelf shelf, long library, SlowVersions slow, List<SlowVersion> published, LocalDate last, string name)
    {
        var shares = await new ReadVersionShares(db, shelf.Clock).RunAsync($"box{library}", today => new DayRange(today.PlusDays(-9), today), 4, default);
        Assert.Equal(10, shares.Days.Count);
        foreach (var day in shares.Days)
            Assert.Equal(Line(slow.AtEndOf(day.Day, library)), Line(shares.Versions.Where(v => day.People[shares.IndexOf(v)] > 0).ToDictionary(v => v.Id, v => day.People[shares.IndexOf(v)])));
        var expected = published.Select(v => (v.Id, Half: slow.DaysTo(5, v.Id, last), Most: slow.DaysTo(9, v.Id, last)))
            .Where(u => u.Half.Had > 0).Select(u => $"{name}: {u.Id} of {u.Half.Had} half {u.Half.Days} most {u.Most.Days}").Order(StringComparer.Ordinal);
        Assert.Equal(expected, shares.Uptakes.Select(u => $"{name}: {u.Version.Id} of {u.Had} half {u.DaysToHalf} most {u.DaysToMost}").Order(StringComparer.Ordinal));
    }

    private static string Line(Dictionary<long, int> people) => string.Join(", ", people.OrderBy(p => p.Key).Select(p => $"{p.Key}: {p.Value}"));
}
