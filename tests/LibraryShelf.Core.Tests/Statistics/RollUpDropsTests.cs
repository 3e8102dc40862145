using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class RollUpDropsTests
{
    private const int Many = 30;

    // By hand: of the three before November 10, 20 and 60 in a hundred had it within 7 days; the middle is 20, whichever months are shown.
    [Fact]
    public void A_drop_is_held_against_all_before_it_also_those_that_are_not_shown()
    {
        var lines = new[] { (11, 50), (10, 60), (9, 10), (8, 20) }.Select(l => new UptakeLine(new YearMonth(2026, l.Item1), "", [], default, 100, [0, l.Item2, 0], [true, true, false], l.Item2)).ToList();
        var (all, one) = (new DropNumbers(new(2026, 8), new(2026, 11), new(2026, 8), new(2026, 11), "Etc/UTC", 0, lines), new DropNumbers(new(2026, 11), new(2026, 11), new(2026, 8), new(2026, 11), "Etc/UTC", 0, lines));
        Assert.Equal((4, 1), (all.Lines.Count, one.Lines.Count));
        Assert.Equal((20, 20), (all.UsuallyBefore(all.Lines[0], 1), one.UsuallyBefore(one.Lines[0], 1)));
        Assert.Null(one.UsuallyBefore(one.Lines[0], 2));
    }

    /// <summary>
    /// What was fetched, as a test draws it: by whom (from 1; 0: a visitor), which: the box's 0.9.0, 1.0.0 (the drop's), 1.1.0, another box, the whole month, another month.
    /// </summary>
    private sealed record Fetch(int Person, string What, DateTimeOffset? FinishedAt, bool IsMaker);

    private sealed class Shelf(StockedShelf stocked) : IAsyncDisposable
    {
        public StockedShelf Stocked => stocked;
        public DateTimeOffset Sent { get; } = stocked.Now.AddDays(-40);
        public List<long> Ids { get; } = [];
        public Dictionary<string, long> Releases { get; } = new(StringComparer.Ordinal);

        public ValueTask DisposeAsync() => stocked.DisposeAsync();

        public static async Task<Shelf> MakeAsync()
        {
            var shelf = new Shelf(await StockedShelf.MakeAsync(Audience.Members));
            await shelf.Stocked.WithAsync(async db =>
            {
                var kettle = await db.Libraries.SingleAsync();
                var other = new Library { Slug = "other", Title = "Other" };
                db.Libraries.Add(other);
                shelf.Releases["1.0.0"] = shelf.Stocked.ReleaseId;
                var more = new[] { ("0.9.0", kettle), ("1.1.0", kettle), ("other", other) }.Select(r => (r.Item1, Release: new Release { Library = r.Item2, Number = r.Item1 == "other" ? "1.0.0" : r.Item1, CreatedAt = shelf.Sent })).ToList();
                db.Releases.AddRange(more.Select(m => m.Release));
                var people = Enumerable.Range(0, Many).Select(i => People.New($"p{i}@example.org", shelf.Sent)).ToList();
                db.Users.AddRange(people);
                db.Drops.AddRange(
                    new Drop { Id = 1, Month = new(2026, 10), State = DropState.Sent, SentAt = shelf.Sent },
                    new Drop { Id = 2, Month = new(2026, 11), State = DropState.Planned, DueAt = shelf.Sent });
                db.DropReleases.Add(new DropRelease { DropId = 1, ReleaseId = shelf.Stocked.ReleaseId });
                await db.SaveChangesAsync();
                more.ForEach(m => shelf.Releases[m.Item1] = m.Release.Id);
                shelf.Ids.AddRange(people.Select(p => p.Id));
                return 0;
            });
            return shelf;
        }

        public Task<int> RollUpAsync() => Stocked.WithAsync(db => new RollUpDrops(db, Stocked.Temp.Clock).RunAsync(default));

        public Task CountAsync() => Stocked.WithAsync(db => new CountDownloads(db).RunAsync(default));

        public async Task<string> RowAsync() => await Stocked.WithAsync(db => db.DropUptakes.SingleAsync(u => u.DropId == 1)) is var u ? $"{u.Holders}: {u.After1} {u.After7} {u.After30} {u.ByNow}" : "";

        public Task FetchAsync(string id, Fetch fetch) => Stocked.WithAsync(db =>
        {
            db.Downloads.Add(new Download
            {
                Id = id, ArchiveId = 1, LibraryId = fetch.What == "other" ? Stocked.LibraryId + 1 : Stocked.LibraryId,
                ReleaseId = Releases.GetValueOrDefault(fetch.What, Stocked.ReleaseId), DropId = fetch.What switch { "month" => 1, "other month" => 2, _ => null },
                PersonId = fetch.Person == 0 ? null : Ids[fetch.Person - 1], Why = fetch.IsMaker ? MayDownloadWhy.Maker : MayDownloadWhy.Member,
                StartedAt = fetch.FinishedAt ?? Sent.AddHours(1),
            });
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = fetch.FinishedAt is null ? Stocked.Length - 1 : Stocked.Length, BeginsAnswer = true, At = fetch.FinishedAt ?? Sent.AddHours(1) });
            return db.SaveChangesAsync();
        });
    }

    [Fact]
    public async Task It_counts_what_the_definition_counts()
    {
        await using var shelf = await Shelf.MakeAsync();
        var random = new Random(3);
        var members = await MembersAsync(shelf, random);
        Assert.InRange(members.Count, 8, Many - 5);
        List<Fetch> fetches = [];
        string[] whats = ["0.9.0", "1.0.0", "1.0.0", "1.1.0", "other", "month", "other month"];
        for (var i = 0; i < 90; i++)
        {
            var fetch = new Fetch(random.Next(Many + 1), whats[random.Next(whats.Length)], random.Next(4) == 0 ? null : shelf.Sent.AddHours(random.Next(3) == 0 ? random.Next(26) : random.Next(38 * 24)), false);
            fetches.Add(fetch);
            await shelf.FetchAsync($"d{i}", fetch);
        }
        // On the very edge of each time.
        foreach (var (days, i) in new[] { 1, 7, 30 }.Select((d, i) => (d, i)))
        {
            fetches.Add(new(members[i], "1.0.0", shelf.Sent.AddDays(days), false));
            fetches.Add(new(members[i + 3], "1.0.0", shelf.Sent.AddDays(days).AddMilliseconds(1), false));
            await shelf.FetchAsync($"e{days}", fetches[^2]);
            await shelf.FetchAsync($"f{days}", fetches[^1]);
        }
        await shelf.CountAsync();
        Assert.Equal(1, await shelf.RollUpAsync());

        // "Took it: finished one of its libraries, in the version it brought or a later one, or the month as one archive", each of whose it was.
        var took = members.ToDictionary(m => m, m => fetches.Where(f => f.Person == m && f.FinishedAt is not null && f.What is "1.0.0" or "1.1.0" or "month" && f.Person == m && f.FinishedAt is not null).Min(f => f.FinishedAt));
        string expected = $"{members.Count}: {string.Join(' ', new[] { 1, 7, 30 }.Select(d => took.Values.Count(t => t <= shelf.Sent.AddDays(d))))} {took.Values.Count(t => t is not null)}";
        Assert.Equal(expected, await shelf.RowAsync());
        Assert.DoesNotContain(": 0", expected, StringComparison.Ordinal);

        // Again, or from nothing: the same.
        Assert.Equal(0, await shelf.RollUpAsync());
        await shelf.Stocked.WithAsync(db => db.DropUptakes.ExecuteDeleteAsync());
        Assert.Equal(1, await shelf.RollUpAsync());
        Assert.Equal(expected, await shelf.RowAsync());

        // Who is deleted stays in the sums: those who took it at once, later and not at all.
        foreach (var gone in members.OrderBy(m => took[m] ?? DateTimeOffset.MaxValue).Where((_, i) => i % 3 == 0))
            await DeleteAsync(shelf, shelf.Ids[gone - 1]);
        shelf.Stocked.Temp.Clock.Advance(TimeSpan.FromMinutes(10));
        Assert.Equal(1, await shelf.RollUpAsync());
        Assert.Equal(expected, await shelf.RowAsync());
        Assert.InRange(await shelf.Stocked.WithAsync(db => db.KeptCounts.CountAsync(c => c.Figure == MemberFigure.DropTakers)), 1, 4);
    }

    private static Task DeleteAsync(Shelf shelf, long id) => shelf.Stocked.WithAsync(async db =>
    {
        await using var transaction = await db.Database.BeginTransactionAsync();
        await new Core.Persons.DeletedRows(db, (await Core.Persons.PersonRows.FindAsync(db, id, default))!, shelf.Stocked.Now).GoAsync(default);
        await transaction.CommitAsync();
        return 0;
    });

    /// <summary>Of thirty people some are given it, some paid, some have the month alone, some came later or left before. Answers who held it, from 1.</summary>
    private static async Task<List<int>> MembersAsync(Shelf shelf, Random random)
    {
        List<int> members = [];
        await shelf.Stocked.WithAsync(async db =>
        {
            for (var i = 1; i <= Many; i++)
            {
                var (id, kind) = (shelf.Ids[i - 1], random.Next(6));
                if (kind < 4) members.Add(i);
                if (kind is 0 or 1) db.MembershipGrants.Add(new MembershipGrant { PersonId = id, From = shelf.Sent.AddDays(-random.Next(100)), Until = random.Next(2) == 0 ? null : shelf.Sent.AddMinutes(1) });
                if (kind is 2 or 4) db.PaidMemberships.Add(new PaidMembership { PersonId = id, ProviderId = $"sub_{i}", StartedAt = shelf.Sent.AddDays(-90), ActiveUntil = kind == 2 ? shelf.Sent.AddDays(1) : shelf.Sent });
                if (kind == 3) db.PaidMonths.Add(new PaidMonth { PersonId = id, Month = new(2026, 10), OpensAt = shelf.Sent });
                if (kind == 5) db.MembershipGrants.Add(new MembershipGrant { PersonId = id, From = shelf.Sent.AddMinutes(1) });
            }
            return await db.SaveChangesAsync();
        });
        return members;
    }

    [Fact]
    public async Task A_finish_marks_its_drop_and_the_sweep_finds_it_once_the_pause_is_over()
    {
        await using var shelf = await Shelf.MakeAsync();
        await shelf.Stocked.WithAsync(db =>
        {
            db.MembershipGrants.Add(new MembershipGrant { PersonId = shelf.Ids[0], From = shelf.Sent.AddDays(-1) });
            return db.SaveChangesAsync();
        });
        Assert.True(await IsDueAsync());
        await shelf.RollUpAsync();
        Assert.False(await IsDueAsync());
        Assert.Equal("1: 0 0 0 0", await shelf.RowAsync());

        await shelf.FetchAsync("visitor", new(0, "1.0.0", shelf.Stocked.Now, false));
        await shelf.CountAsync();
        await shelf.FetchAsync("d", new(1, "1.0.0", shelf.Sent.AddDays(3), false));
        await shelf.CountAsync();
        // Rolled up a moment ago: it waits.
        Assert.False(await IsDueAsync());
        shelf.Stocked.Temp.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.True(await IsDueAsync());
        Assert.Equal(1, await shelf.RollUpAsync());
        Assert.Equal("1: 0 1 1 1", await shelf.RowAsync());
        // Each day a young one is looked at again, because who was a member may come out otherwise.
        Assert.False(await IsDueAsync());
        shelf.Stocked.Temp.Clock.Advance(TimeSpan.FromDays(1));
        Assert.True(await IsDueAsync());

        Task<bool> IsDueAsync() => shelf.Stocked.WithAsync(db => new FindDropsUncounted(db, shelf.Stocked.Temp.Clock).RunAsync(default));
    }

    [Fact]
    public async Task What_was_finished_while_it_was_rolled_up_is_rolled_up_after()
    {
        await using var shelf = await Shelf.MakeAsync();
        await shelf.RollUpAsync();
        await shelf.Stocked.WithAsync(db => db.DropUptakes.ExecuteUpdateAsync(s => s.SetProperty(u => u.Changed, 5)));
        shelf.Stocked.Temp.Clock.Advance(TimeSpan.FromHours(1));
        Assert.Equal(1, await shelf.RollUpAsync());
        var row = await shelf.Stocked.WithAsync(db => db.DropUptakes.AsNoTracking().SingleAsync());
        Assert.Equal((5, 5), (row.Changed, row.Rolled));
    }

    [Fact]
    public async Task A_first_free_download_is_the_earliest_whatever_order_they_are_counted_in()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        long id = await shelf.WithAsync(async db =>
        {
            var person = People.New("p@example.org", shelf.Now);
            db.Users.Add(person);
            await db.SaveChangesAsync();
            return person.Id;
        });
        foreach (var (name, why, days) in new[] { ("later", MayDownloadWhy.Free, -3), ("member", MayDownloadWhy.Member, -9), ("first", MayDownloadWhy.Free, -5), ("broken", MayDownloadWhy.Free, -8), ("last", MayDownloadWhy.Free, -1) })
        {
            await shelf.WithAsync(db =>
            {
                db.Downloads.Add(new Download { Id = name, ArchiveId = 1, LibraryId = shelf.LibraryId, ReleaseId = shelf.ReleaseId, PersonId = id, Why = why, StartedAt = shelf.Now.AddDays(days) });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = name, From = 0, To = name == "broken" ? 5 : shelf.Length, At = shelf.Now.AddDays(days) });
                return db.SaveChangesAsync();
            });
            await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        }
        Assert.Equal(shelf.Now.AddDays(-5), (await shelf.WithAsync(db => db.PersonFirsts.SingleAsync())).FreeAt);
    }
}
