using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// How drops were taken, against docs/counting.md, "Drops", asked of each person and each drop by itself, on random pasts of a shelf: twelve drops of 25 people in
/// each, 120 drops, 24 on PostgreSQL and 1,008 with SHELF_SLOW=1; SHELF_SEED=n draws others.
/// </summary>
public sealed class DropHistoriesTests
{
    private const int Drops = 12, Many = 25;

    private static readonly int Rounds = Environment.GetEnvironmentVariable("SHELF_SLOW") == "1" ? 84 : TestDatabase.IsPostgres ? 2 : 10;

    private static readonly string[] Numbers = ["0.9.0", "1.0.0", "1.1.0"];

    /// <summary>Something finished. Of <paramref name="Box"/> the version at <paramref name="Place"/>; or, whole, the month of that drop.</summary>
    private sealed record Taken(int Person, int Box, int Place, bool IsMonth, DateTimeOffset At);

    /// <param name="Brings">Its box is the one of its own number, of which it brings 1.0.0; now and then besides the one before, of which it brings 1.1.0.</param>
    private sealed record Sent(int Number, YearMonth Month, DateTimeOffset At, IReadOnlyList<(int Box, int Place)> Brings);

    /// <summary>What a shelf's past is drawn as. Person 0 is the maker.</summary>
    private sealed record Shelf(DateTimeZone Zone, IReadOnlyList<Past> People, IReadOnlyList<(int Person, YearMonth Month, DateTimeOffset OpensAt)> Months, IReadOnlyList<Sent> Drops, IReadOnlyList<Taken> Taken)
    {
        /// <summary>"Members at the instant it went out, and who had its month paid for or given by then without being one any more."</summary>
        private bool Holds(int person, Sent drop) => person > 0 && (SlowMembers.Is(People[person], drop.At)
            || Months.Any(m => m.Person == person && m.Month == drop.Month && m.OpensAt <= drop.At)
            || People[person].Times.Any(t => !t.IsPaid && t.Until <= drop.At && IsGiven(t.From, t.Until!.Value, drop.Month)));

        /// <summary>The month of its first day, and one more for each whole month it goes on.</summary>
        private bool IsGiven(DateTimeOffset from, DateTimeOffset until, YearMonth month)
        {
            var first = Instant.FromDateTimeOffset(from).InZone(Zone).LocalDateTime;
            var n = ((month.Year - first.Year) * 12) + month.Month - first.Month;
            return n == 0 || (n > 0 && first.PlusMonths(n).InZoneLeniently(Zone).ToDateTimeOffset() < until);
        }

        /// <summary>"Finished one of its libraries, in the version it brought or a later one, or the month as one archive": when first.</summary>
        private DateTimeOffset? TookAt(int person, Sent drop) => Taken
            .Where(t => t.Person == person && (t.IsMonth ? t.Box == drop.Number : drop.Brings.Any(b => b.Box == t.Box && t.Place >= b.Place))).Min(t => (DateTimeOffset?)t.At);

        /// <summary>"drop 3: 9 held it, 1 3 5 6".</summary>
        public List<string> Uptakes() => [.. Drops.Select(d =>
        {
            var took = Enumerable.Range(0, Many).Where(p => Holds(p, d)).Select(p => TookAt(p, d)).ToList();
            return $"drop {d.Number}: {took.Count} held it, {string.Join(' ', new[] { 1, 7, 30 }.Select(n => took.Count(t => t <= d.At.AddHours(24 * n))))} {took.Count(t => t is not null)}";
        })];
    }

    [Fact]
    public async Task The_fast_one_and_the_definitions_agree_on_random_pasts()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        for (var round = 0; round < Rounds; round++)
        {
            var random = new Random(Histories.Seed + round);
            shelf.Clock.AdjustTime(now);
            var drawn = Draw(random, now);
            var ids = await WriteAsync(shelf, drawn);
            var expected = drawn.Uptakes();
            await RollUpAsync(shelf);
            await RequireAsync(shelf, expected, $"round {round} of seed {Histories.Seed}");
            // Somebody held one and took it, and somebody did not.
            Assert.Contains(expected, e => !e.EndsWith(" 0", StringComparison.Ordinal));
            // Who is deleted stays in the sums; what somebody finishes of a box changes its drop's alone.
            foreach (var gone in Enumerable.Range(1, Many - 1).OrderBy(_ => random.Next()).Take(3))
                await DeleteAsync(shelf, ids[gone]);
            shelf.Clock.Advance(TimeSpan.FromMinutes(10));
            await RollUpAsync(shelf);
            await RequireAsync(shelf, expected, $"round {round} of seed {Histories.Seed}, deleted");
        }
    }

    private static Shelf Draw(Random random, DateTimeOffset now)
    {
        var zone = DateTimeZoneProviders.Tzdb[random.Next(2) == 0 ? "Pacific/Auckland" : "America/New_York"];
        List<Past> people = [.. Enumerable.Range(0, Many).Select(_ => MemberTotalsTests.Draw(random, zone, now))];
        var instants = people.SelectMany(p => p.Times.SelectMany(t => new[] { t.From, t.Until ?? t.From })).Where(t => t < now).ToList();
        var drops = new List<Sent>();
        for (var number = 0; number < Drops; number++)
        {
            // Out in its month, or late; at times in the very instant at which somebody becomes a member or is none any more.
            var month = new YearMonth(2025, 11).PlusMonths(number);
            var at = month.OnDayOfMonth(1).AtStartOfDayInZone(zone).ToDateTimeOffset().ToUniversalTime().AddMinutes(random.Next(40 * 1440));
            if (random.Next(3) == 0)
                at = instants[random.Next(instants.Count)];
            drops.Add(new(number, month, at > now ? now : at, number > 0 && random.Next(3) == 0 ? [(number, 1), (number - 1, 2)] : [(number, 1)]));
        }
        var months = (from p in Enumerable.Range(0, Many) from d in drops where random.Next(8) == 0 select (p, d.Month, d.At.AddMilliseconds(random.Next(4) == 0 ? random.Next(-1, 2) : random.Next(-1_000_000_000, 1_000_000_000)))).ToList();
        var taken = new List<Taken>();
        for (var i = 0; i < 250; i++)
        {
            var drop = drops[random.Next(Drops)];
            var at = random.Next(3) switch
            {
                // On the very edge, within some weeks of it, or before.
                0 => drop.At.AddDays(DropUptake.Days[random.Next(3)]).AddMilliseconds(random.Next(2)),
                1 => drop.At.AddHours(random.Next(35 * 24)),
                _ => drop.At.AddHours(random.Next(-200, 40)),
            };
            taken.Add(new(random.Next(-1, Many), drop.Number, random.Next(Numbers.Length), random.Next(4) == 0, at > now ? now : at));
        }
        return new(zone, people, months, drops, taken);
    }

    /// <returns>Of each person, the id.</returns>
    private static async Task<List<long>> WriteAsync(TempShelf shelf, Shelf drawn)
    {
        await using var db = shelf.Open();
        await EmptyAsync(db);
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = drawn.Zone.Id });
        var persons = Enumerable.Range(0, Many).Select(i => People.New($"p{i}@example.org", shelf.Clock.GetUtcNow())).ToList();
        persons[0].IsMaker = true;
        db.Users.AddRange(persons);
        for (var box = 0; box < Drops; box++)
        {
            db.Libraries.Add(new Library { Id = box + 1, Slug = $"box{box}", Title = $"Box {box}" });
            db.Releases.AddRange(Numbers.Select((number, place) => new Release { Id = ReleaseId(box, place), LibraryId = box + 1, Number = number }));
        }
        await db.SaveChangesAsync();
        foreach (var (past, person) in drawn.People.Zip(persons))
        {
            db.MembershipGrants.AddRange(past.Times.Where(t => !t.IsPaid).Select(t => new MembershipGrant { PersonId = person.Id, From = t.From, Until = t.Until }));
            db.PaidMemberships.AddRange(past.Times.Where(t => t.IsPaid).Select((t, n) => new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{person.Id}_{n}", StartedAt = t.From, ActiveUntil = t.Until!.Value }));
        }
        db.PaidMonths.AddRange(drawn.Months.Select(m => new PaidMonth { PersonId = persons[m.Person].Id, Month = m.Month, OpensAt = m.OpensAt }));
        foreach (var drop in drawn.Drops)
        {
            db.Drops.Add(new Drop { Id = drop.Number + 1, Month = drop.Month, State = DropState.Sent, SentAt = drop.At });
            db.DropReleases.AddRange(drop.Brings.Select((b, i) => new DropRelease { DropId = drop.Number + 1, ReleaseId = ReleaseId(b.Box, b.Place), Place = i }));
        }
        foreach (var (taken, i) in drawn.Taken.Select((t, i) => (t, i)))
        {
            db.Downloads.Add(new Download
            {
                Id = $"d{i}", ArchiveId = 1, LibraryId = taken.Box + 1, ReleaseId = ReleaseId(taken.Box, taken.Place), DropId = taken.IsMonth ? taken.Box + 1 : null,
                PersonId = taken.Person < 0 ? null : persons[taken.Person].Id, Why = taken.Person == 0 ? MayDownloadWhy.Maker : MayDownloadWhy.Member, StartedAt = taken.At.AddHours(-1),
            });
            // Others are begun and never finished.
            db.Downloads.Add(new Download { Id = $"u{i}", ArchiveId = 1, LibraryId = taken.Box + 1, ReleaseId = ReleaseId(taken.Box, 1), PersonId = persons[i % Many].Id, Why = MayDownloadWhy.Member, StartedAt = taken.At });
            db.DownloadTallies.Add(new DownloadTally { DownloadId = $"d{i}", StartedAt = taken.At.AddHours(-1), FinishedAt = taken.At });
            db.DownloadTallies.Add(new DownloadTally { DownloadId = $"u{i}", StartedAt = taken.At });
        }
        await db.SaveChangesAsync();
        return persons.ConvertAll(p => p.Id);
    }

    private static long ReleaseId(int box, int place) => (box * 10) + place + 1;

    private static async Task EmptyAsync(ShelfDb db)
    {
        await db.DropUptakes.ExecuteDeleteAsync();
        await db.KeptCounts.ExecuteDeleteAsync();
        await db.DownloadTallies.ExecuteDeleteAsync();
        await db.Downloads.ExecuteDeleteAsync();
        await db.DropReleases.ExecuteDeleteAsync();
        await db.Drops.ExecuteDeleteAsync();
        await db.PaidMonths.ExecuteDeleteAsync();
        await db.PaidMemberships.ExecuteDeleteAsync();
        await db.MembershipGrants.ExecuteDeleteAsync();
        await db.Releases.ExecuteDeleteAsync();
        await db.Libraries.ExecuteDeleteAsync();
        await db.Outbox.ExecuteDeleteAsync();
        await db.Deletions.ExecuteDeleteAsync();
        await db.Users.ExecuteDeleteAsync();
        await db.Shops.ExecuteDeleteAsync();
    }

    private static async Task RollUpAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        Assert.InRange(await new RollUpDrops(db, shelf.Clock).RunAsync(default), 1, Drops);
    }

    private static async Task RequireAsync(TempShelf shelf, List<string> expected, string name)
    {
        await using var db = shelf.Open();
        var fast = (await db.DropUptakes.AsNoTracking().OrderBy(u => u.DropId).ToListAsync()).ConvertAll(u => $"drop {u.DropId - 1}: {u.Holders} held it, {u.After1} {u.After7} {u.After30} {u.ByNow}");
        Assert.True(expected.SequenceEqual(fast), $"{name}:\n{string.Join('\n', expected.Except(fast))}\nbut\n{string.Join('\n', fast.Except(expected))}");
    }

    private static async Task DeleteAsync(TempShelf shelf, long id)
    {
        await using var db = shelf.Open();
        await using var transaction = await db.Database.BeginTransactionAsync();
        await new DeletedRows(db, (await PersonRows.FindAsync(db, id, default))!, shelf.Clock.GetUtcNow()).GoAsync(default);
        await transaction.CommitAsync();
    }
}
