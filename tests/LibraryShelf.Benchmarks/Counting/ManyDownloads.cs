using System.Globalization;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// A shelf of five years: sixty boxes of four versions, a drop each month, 20,000 people, and so many downloads, made by the database itself. Each of the last
/// thirteen months' downloads has its events, one for each 16 MiB as the shelf writes them; of older ones the tally is left and no visitor is told apart, as on a shelf
/// that keeps these for so long. Among them are double clicks, resumes, updates, months fetched as one archive, robots, and every twentieth is never finished. The tallies are what counting
/// comes to: <see cref="NumbersBench"/> counts again and compares.
/// </summary>
internal sealed class ManyDownloads(ShelfDb db, int downloads)
{
    public const int Boxes = 60, Versions = 4, People = 20_000, Days = 1826;
    private const int KeptDays = 396, Piece = 500_000;
    /// <summary>Of one download; its ids begin behind a multiple of it, so that ids are left out between those of a download and the next one's.</summary>
    public const int MostEvents = 4;
    /// <summary>An event says no more (docs/counting.md).</summary>
    public const long Stretch = 16 << 20;

    /// <summary>One to three stretches, the last of them not whole. Small libraries: with those of gigabytes, the thirteen months alone would have hundreds of millions of events.</summary>
    public static long LengthOf(int box) => (1 + box % 3) * Stretch - 1_000_000 - box * 1_000;

    private static readonly DateTimeOffset Now = TimeProvider.System.GetUtcNow();
    private static readonly DateTimeOffset First = Now.AddDays(-Days + 1);

    /// <summary>Of the five years, in milliseconds.</summary>
    public static long Start => First.ToUnixTimeMilliseconds();

    public static long End => Now.ToUnixTimeMilliseconds();

    /// <summary>Behind those of a box's versions stands its month's.</summary>
    public static long ArchiveOf(int box, int version) => box * (Versions + 1) + version + 1;

    public static long ReleaseOf(int box, int version) => box * Versions + version + 1;

    public static long LibraryOf(int box) => box + 1;

    public async Task MakeAsync()
    {
        await BoxesAsync();
        await PeopleAsync();
        await SightingsAsync();
        await using var indexes = await FewIndexes.LeaveOutAsync(db, "Downloads", "DownloadTallies", "DownloadEvents");
        for (var from = 0; from < downloads; from += Piece)
            await SomeAsync(from, Math.Min(downloads, from + Piece));
    }

    private async Task BoxesAsync()
    {
        for (var box = 0; box < Boxes; box++)
        {
            var library = new Library { Slug = $"box-{box}", Title = $"Kettle {box}", CreatedAt = First, DeclaredAt = First };
            library.Audiences.Add(new AudienceDecision { Audience = box % 3 == 0 ? Audience.Free : Audience.Members, DecidedAt = First });
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            for (var version = 0; version < Versions; version++)
            {
                var release = new Release { LibraryId = library.Id, Number = $"1.{version}.0" };
                foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                    if (!release.MoveTo(state, First.AddDays(version * Days / Versions)))
                        throw new InvalidOperationException($"A release can't become {state}.");
                // Nobody waits to be told.
                release.TellAskedAt = null;
                db.Releases.Add(release);
                await db.SaveChangesAsync();
                db.Archives.Add(new Archive { ReleaseId = release.Id, RecipeSha256 = $"{release.Id}", Length = LengthOf(box), FileName = $"{release.Id}.zip", CreatedAt = First });
                await db.SaveChangesAsync();
            }
            var sent = First.AddMonths(box);
            var drop = new Drop { Month = new YearMonth(sent.Year, sent.Month), State = DropState.Sent, SentAt = sent, DueAt = sent, CreatedAt = First };
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = box * Versions + 1 });
            db.Archives.Add(new Archive { ReleaseId = box * Versions + 1, Kind = ArchiveKind.Drop, DropId = drop.Id, RecipeSha256 = $"month {drop.Id}", Length = LengthOf(box), FileName = $"month-{drop.Id}.zip", CreatedAt = First });
            await db.SaveChangesAsync();
        }
        await db.SaveChangesAsync();
        db.ChangeTracker.Clear();
    }

    /// <summary>Half of them pay, from some month of the five years on, and a third of these left again after a year.</summary>
    private async Task PeopleAsync()
    {
        foreach (var some in Enumerable.Range(0, People).Chunk(2000))
        {
            var people = some.Select(n => $"m{n}@post.example").Select(e => new Person
            {
                UserName = e, Email = e, NormalizedEmail = e.ToUpperInvariant(), NormalizedUserName = e.ToUpperInvariant(), SecurityStamp = "bench", CreatedAt = First,
            }).ToList();
            db.Users.AddRange(people);
            await db.SaveChangesAsync();
            foreach (var person in people.Where(p => p.Id % 2 == 0))
            {
                var joined = First.AddDays(person.Id * 13 % (Days - 30));
                var left = person.Id % 3 == 0 && joined.AddYears(1) < Now ? joined.AddYears(1) : (DateTimeOffset?)null;
                db.PaidMemberships.Add(new PaidMembership
                {
                    PersonId = person.Id, ProviderId = $"sub_{person.Id}", CustomerId = $"cus_{person.Id}", StartedAt = joined, PaidThrough = left ?? Now.AddDays(20), EndedAt = left, LeavesAt = left,
                    ActiveUntil = left ?? Now.AddDays(25),
                });
                for (var month = joined; month < (left ?? Now); month = month.AddMonths(1))
                    db.PaidMonths.Add(new PaidMonth { PersonId = person.Id, Month = new YearMonth(month.Year, month.Month), PaymentId = $"in_{person.Id}_{month:yyyyMM}", OpensAt = month });
            }
            await db.SaveChangesAsync();
            db.ChangeTracker.Clear();
        }
    }

    /// <summary>What each day keeps at most, of as long as it is kept: two hundred hosts and searches that come again and again, a hundred of that day alone; and answers of all days.</summary>
    private async Task SightingsAsync()
    {
        for (var day = 0; day < Days; day++)
        {
            var date = LocalDate.FromDateTime(Now.AddDays(-day).UtcDateTime);
            var words = new[] { (SightingKind.Answer, "200"), (SightingKind.Answer, "206"), (SightingKind.Answer, "304"), (SightingKind.Answer, "404"), (SightingKind.Answer, "410"), (SightingKind.Answer, "416"), (SightingKind.Answer, "HEAD") }
                .Select(w => (w.Item1, Library: 0, Word: w.Item2)).ToList();
            if (day < KeptDays)
                for (var n = 0; n < 300; n++)
                {
                    var word = n < 200 ? $"{n}" : $"{n}-{day}";
                    words.Add((SightingKind.Referrer, n % (Boxes + 1), $"reeds-{word}.example"));
                    words.Add((SightingKind.Search, 0, $"kettle {word}"));
                }
            db.Sightings.AddRange(words.Select((w, n) => new Sighting { Day = date, Kind = w.Item1, LibraryId = w.Library, Word = w.Word, Times = 1 + 1000 / (n + 1) }));
            if (day % 30 != 0 && day != Days - 1)
                continue;
            await db.SaveChangesAsync();
            db.ChangeTracker.Clear();
        }
        await RunAsync("""
            INSERT INTO "MonthSightings" ("Kind", "Month", "LibraryId", "Word", "Times")
            SELECT "Kind", substr("Day", 1, 7), "LibraryId", "Word", sum("Times") FROM "Sightings" GROUP BY "Kind", substr("Day", 1, 7), "LibraryId", "Word"
            """);
    }

    /// <summary>
    /// Downloads n of [from, to): the same on every run, spread evenly over the days, in SQL that both databases speak. Ids lie as far from each other as random
    /// ones (n times an odd number, modulo 2^32, comes back to no number twice) and are as long. Each fiftieth is made by who made the one before it, 9 s later.
    /// </summary>
    private async Task SomeAsync(long from, long to)
    {
        var (start, span) = (Start, (Now - First).TotalMilliseconds);
        var (step, kept) = ((long)(span * 1000 / downloads), Now.AddDays(-KeptDays).ToUnixTimeMilliseconds());
        var numbers = string.Create(CultureInfo.InvariantCulture, $"""
            WITH RECURSIVE n(i) AS (SELECT CAST({from} AS BIGINT) UNION ALL SELECT i + 1 FROM n WHERE i + 1 < {to}),
            e(i, e) AS (SELECT i, i - CASE WHEN i % 50 = 8 THEN 1 ELSE 0 END FROM n),
            h(i, e, h) AS (SELECT i, e, e * 2654435761 % 4294967296 FROM e),
            b(i, e, h, id, at, box, version) AS (SELECT i, e, h, (i * 2654435761 % 4294967296 + 1000000000) || '-bcdefghijkl', {start} + e * {step} / 1000 + (i - e) * 9000, h / 97 % {Boxes},
                CASE WHEN e * {Versions} / {downloads} - CASE WHEN e % 9 = 0 THEN 1 ELSE 0 END < 0 THEN 0 ELSE e * {Versions} / {downloads} - CASE WHEN e % 9 = 0 THEN 1 ELSE 0 END END FROM h),
            m(i, e, h, id, at, box, version, month) AS (SELECT i, e, h, id, at, box, version, CASE WHEN e % 25 = 3 AND box % 3 <> 0 THEN box + 1 END FROM b),
            d(i, e, h, id, at, box, archive, release, "before", month, person, visitor, stretches, length, resumed, events) AS (SELECT i, e, h, id, at, box,
                box * {Versions + 1} + CASE WHEN month IS NULL THEN version + 1 ELSE {Versions + 1} END, box * {Versions} + CASE WHEN month IS NULL THEN version + 1 ELSE 1 END,
                CASE WHEN month IS NULL AND version > 0 AND e % 3 = 0 THEN box * {Versions} + version END, month,
                CASE WHEN box % 3 <> 0 OR e % 4 = 0 THEN 2 + h / 8191 % {People} END, CASE WHEN box % 3 = 0 AND e % 4 <> 0 THEN (10000 + h / 31 % 5000) || '-visitor-xy' END,
                CASE WHEN i % 20 = 0 THEN 1 ELSE 1 + box % 3 END, CASE WHEN i % 20 = 0 THEN 1000000 ELSE (1 + box % 3) * {Stretch} - 1000000 - box * 1000 END,
                CASE WHEN i % 30 = 11 AND box % 3 > 0 AND i % 20 <> 0 THEN 1 ELSE 0 END, CASE WHEN i % 20 = 0 THEN 1 ELSE 1 + box % 3 END + CASE WHEN i % 30 = 11 AND box % 3 > 0 AND i % 20 <> 0 THEN 1 ELSE 0 END FROM m)
            """);
        await RunAsync($"""
            {numbers}
            INSERT INTO "Downloads" ("Id", "ArchiveId", "ReleaseId", "LibraryId", "FromReleaseId", "DropId", "PersonId", "Visitor", "IsRobot", "Why", "MadeAt", "StartBy", "FinishBy", "StartedAt")
            SELECT id, archive, release, box + 1, "before", month, person, CASE WHEN at >= {kept} THEN visitor END, box % 3 = 0 AND e % 40 = 3,
                CASE WHEN box % 3 = 0 THEN 'Free' ELSE 'Member' END, at, at + 1800000, at + 604800000, at FROM d
            """);
        await RunAsync($"""
            {numbers}
            INSERT INTO "DownloadTallies" ("DownloadId", "LastEventId", "BytesCovered", "Parts", "StartedAt", "IsAgain", "Requests", "Resumes", "BytesServed", "FinishedAt")
            SELECT id, i * {MostEvents} + events, length, CASE WHEN i % 20 = 0 THEN '0-' || length END, at,
                COALESCE(LEAD(at) OVER (PARTITION BY archive, person, visitor ORDER BY at, id) - at <= {(long)DownloadTally.AgainWithin.TotalMilliseconds}, 1 = 0), 1 + resumed, resumed, length,
                CASE WHEN i % 20 <> 0 THEN at + events * {EachMs} END FROM d
            """);
        if (Now.AddDays(-KeptDays) < First.AddMilliseconds(step * to / 1000.0))
            await RunAsync($"""
            {numbers}, k(k) AS (VALUES (0), (1), (2), (3)), x(i, id, at, k, part, proved, begins, length) AS (SELECT i, id, at, k, k - CASE WHEN resumed = 1 AND k > 0 THEN 1 ELSE 0 END,
                resumed = 1 AND k = 1, k = 0 OR (resumed = 1 AND k = 2), length FROM d JOIN k ON k < events WHERE at >= {kept})
            INSERT INTO "DownloadEvents" ("Id", "DownloadId", "From", "To", "At", "IsEvidence", "BeginsAnswer")
            SELECT i * {MostEvents} + k + 1, id, part * {Stretch}, CASE WHEN (part + 1) * {Stretch} < length THEN (part + 1) * {Stretch} ELSE length END, at + (k + 1) * {EachMs}, proved, begins FROM x
            """);
    }

    /// <summary>An event came each minute.</summary>
    private const int EachMs = 60_000;

    private Task RunAsync(string sql) => db.Database.ExecuteSqlRawAsync(sql.Replace("{", "{{", StringComparison.Ordinal).Replace("}", "}}", StringComparison.Ordinal));
}
