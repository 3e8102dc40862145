using System.Globalization;
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
/// Who is on which version, in pieces and in any order, against the slow one on random histories; after two accounts were made one, and after somebody was
/// deleted. 1,000 with SHELF_SLOW=1, else 60; SHELF_SEED=n draws others.
/// </summary>
public sealed class RollUpVersionsTests
{
    private static readonly int Histories = Environment.GetEnvironmentVariable("SHELF_SLOW") == "1" ? 1_000 : 60;
    private static readonly int Seed = int.TryParse(Environment.GetEnvironmentVariable("SHELF_SEED"), CultureInfo.InvariantCulture, out var seed) ? seed : 20261126;

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
        for (var history = 0; history < Histories; history++)
        {
            var random = new Random(Seed + history);
            var zone = DateTimeZoneProviders.Tzdb[random.Next(3) == 0 ? "Pacific/Kiritimati" : "Europe/Lisbon"];
            var night = Nights[random.Next(Nights.Length)];
            var versions = await StockAsync(shelf, zone, night, random);
            var events = await InventAsync(shelf, versions, night, random);
            // In pieces, as they come, each counted and now and then worked out.
            for (var at = 0; at < events.Count;)
            {
                var piece = events.Skip(at).Take(1 + random.Next(30)).ToList();
                at += piece.Count;
                await using var db = shelf.Open();
                db.DownloadEvents.AddRange(piece);
                await db.SaveChangesAsync();
                if (random.Next(2) == 0 || at == events.Count)
                    await new CountDownloads(db) { PageSize = 1 + random.Next(30) }.RunAsync(default);
                if (random.Next(2) == 0)
                    await new RollUpVersions(db, shelf.Clock) { AtATime = 1 + random.Next(3), MostPieces = 1 + random.Next(3) }.RunAsync(default);
            }
            var name = $"history {history} of seed {Seed}";
            await AgreeAsync(shelf, versions, zone, night, name);
            if (random.Next(2) == 0)
            {
                await using var db = shelf.Open();
                Assert.IsType<MergeOutcome.Merged>(await new MergePeople(db, shelf.Clock).RunAsync("p1@example.org", "p2@example.org", default));
                Assert.False(await db.PersonVersions.AnyAsync(v => v.PersonId == People[1]));
                await AgreeAsync(shelf, versions, zone, night, name + ", merged", isDone: true);
            }
            if (random.Next(2) == 0)
            {
                await using var db = shelf.Open();
                await using var transaction = await db.Database.BeginTransactionAsync();
                await new DeletedRows(db, (await PersonRows.FindAsync(db, People[2], default))!, shelf.Clock.GetUtcNow()).GoAsync(default);
                await transaction.CommitAsync();
                Assert.False(await db.PersonVersions.AnyAsync(v => v.PersonId == People[2]));
                await AgreeAsync(shelf, versions, zone, night, name + ", deleted", isDone: true);
            }
            // From nothing it comes to the same, going on after each stop; so it does in days of another zone.
            await FromNothingAsync(shelf);
            await AgreeAsync(shelf, versions, zone, night, name + ", from nothing", isDone: true);
            var other = DateTimeZoneProviders.Tzdb["America/St_Johns"];
            await using var look = shelf.Open();
            await look.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, other.Id));
            await AgreeAsync(shelf, versions, other, night, name + ", elsewhere");
        }
    }

    private static readonly long[] People = [11, 12, 13, 14];

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
        for (var i = 0; i < People.Length; i++)
            db.Users.Add(new Person { Id = People[i], Email = $"p{i + 1}@example.org", NormalizedEmail = $"P{i + 1}@EXAMPLE.ORG", UserName = $"p{i + 1}", NormalizedUserName = $"P{i + 1}", SecurityStamp = "s" });
        // The order of the ids is not that of precedence: SemVer 2.0.0 §11 has 1.0.0-rc.1 < 1.0.0 < 1.9.0 < 1.10.0.
        (string Number, int Place)[] numbers = [("1.9.0", 3), ("1.10.0", 4), ("1.0.0-rc.1", 1), ("1.0.0", 2)];
        var versions = new List<SlowVersion>();
        for (var library = 1; library <= 2; library++)
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
        db.Drops.Add(new Drop { Id = 7, Month = new YearMonth(2026, 11) });
        // Two of one library, and one of the other.
        db.DropReleases.AddRange(new[] { 10L, 11L, 22L }.Select((id, i) => new DropRelease { DropId = 7, ReleaseId = id, Place = i }));
        await db.SaveChangesAsync();
        return versions;
    }

    private static async Task<List<DownloadEvent>> InventAsync(TempShelf shelf, List<SlowVersion> versions, DateTimeOffset night, Random random)
    {
        var (downloads, events) = (new List<Download>(), new List<DownloadEvent>());
        for (var i = 0; i < 4 + random.Next(30); i++)
        {
            var version = versions[random.Next(versions.Count)];
            var isMonth = random.Next(6) == 0;
            var started = night.AddHours(random.Next(120)).AddMinutes(random.Next(4) * 15);
            downloads.Add(new Download
            {
                Id = $"d{random.Next(1_000_000):000000}-{i}", ArchiveId = version.Id, ReleaseId = isMonth ? 10 : version.Id, LibraryId = isMonth ? 1 : version.LibraryId,
                PersonId = random.Next(6) == 0 ? null : People[random.Next(People.Length)], DropId = isMonth ? 7 : null,
                FromReleaseId = random.Next(4) == 0 ? 10 : null, Why = (MayDownloadWhy)random.Next((int)MayDownloadWhy.Maker + 1), StartedAt = started,
            });
            // Most are finished, in two pieces that may come in any order.
            var end = random.Next(5) == 0 ? Length - 1 : Length;
            var second = started.AddMinutes(random.Next(300));
            events.Add(new() { DownloadId = downloads[^1].Id, From = 0, To = 12, BeginsAnswer = true, At = started });
            events.Add(new() { DownloadId = downloads[^1].Id, From = 12, To = end, At = second });
        }
        await using var db = shelf.Open();
        db.Downloads.AddRange(downloads);
        await db.SaveChangesAsync();
        return [.. events.OrderBy(_ => random.Next())];
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
            if (await new RollUpVersions(again, shelf.Clock) { AtATime = 1, MostPieces = 2 }.RunAsync(default))
                break;
            Assert.InRange(runs, 0, People.Length);
        }
    }

    private static async Task AgreeAsync(TempShelf shelf, List<SlowVersion> versions, DateTimeZone zone, DateTimeOffset night, string name, bool isDone = false)
    {
        await using var db = shelf.Open();
        Assert.True(!isDone || !await RollUpVersions.IsLeftAsync(db, default), name);
        for (var runs = 0; !await new RollUpVersions(db, shelf.Clock).RunAsync(default); runs++)
            Assert.InRange(runs, 0, 3);
        var finished = await db.DownloadTallies.AsNoTracking().Where(t => t.FinishedAt != null).ToDictionaryAsync(t => t.DownloadId, t => t.FinishedAt!.Value);
        var inMonth = (await db.DropReleases.AsNoTracking().ToListAsync()).ToLookup(r => r.DropId, r => r.ReleaseId);
        var slow = new SlowVersions(await db.Downloads.AsNoTracking().ToListAsync(), finished, inMonth, versions, zone);

        var today = (await db.PersonVersions.AsNoTracking().Where(v => v.NextReleaseId == 0).ToListAsync())
            .ConvertAll(v => $"person {v.PersonId} library {v.LibraryId}: {v.ReleaseId} since {v.Since.ToUnixTimeMilliseconds()}");
        today.Sort(StringComparer.Ordinal);
        Assert.True(slow.Today().SequenceEqual(today), $"{name}:\n{string.Join('\n', slow.Today())}\nbut\n{string.Join('\n', today)}");

        shelf.Clock.AdjustTime(night.AddDays(8));
        var last = Instant.FromDateTimeOffset(night.AddDays(8)).InZone(zone).Date;
        foreach (var library in new[] { 1L, 2L }.Where(l => versions.Exists(v => v.LibraryId == l && v.OutAt is not null)))
        {
            var shares = await new ReadVersionShares(db, shelf.Clock).RunAsync($"box{library}", today => new DayRange(today.PlusDays(-9), today), 4, default);
            Assert.Equal(10, shares.Days.Count);
            foreach (var day in shares.Days)
                Assert.Equal(Line(slow.AtEndOf(day.Day, library)), Line(shares.Versions.Where(v => day.People[shares.IndexOf(v)] > 0).ToDictionary(v => v.Id, v => day.People[shares.IndexOf(v)])));
            var expected = versions.Where(v => v.LibraryId == library && v.OutAt is not null).Select(v => (v.Id, Half: slow.DaysTo(5, v.Id, last), Most: slow.DaysTo(9, v.Id, last)))
                .Where(u => u.Half.Had > 0).Select(u => $"{name}: {u.Id} of {u.Half.Had} half {u.Half.Days} most {u.Most.Days}").Order(StringComparer.Ordinal);
            Assert.Equal(expected, shares.Uptakes.Select(u => $"{name}: {u.Version.Id} of {u.Had} half {u.DaysToHalf} most {u.DaysToMost}").Order(StringComparer.Ordinal));
        }
    }

    private static string Line(Dictionary<long, int> people) => string.Join(", ", people.OrderBy(p => p.Key).Select(p => $"{p.Key}: {p.Value}"));
}
