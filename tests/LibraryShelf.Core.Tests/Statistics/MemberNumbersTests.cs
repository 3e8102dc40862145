using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Tests.Persons;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class MemberNumbersTests
{
    private const string Zone = "America/New_York";

    private static YearMonth M(string month) => YearMonthPattern.Iso.Parse(month).Value;

    private static Task<MemberNumbers> ReadAsync(TempShelf shelf, string? from = null, string? to = null) => AskAsync(shelf, db =>
        new ReadMemberNumbers(db, shelf.Clock).RunAsync(from is null ? null : M(from), to is null ? null : M(to), default));

    private static async Task<T> AskAsync<T>(TempShelf shelf, Func<ShelfDb, Task<T>> ask)
    {
        await using var db = shelf.Open();
        return await ask(db);
    }

    private static async Task FillAsync(TempShelf shelf, IReadOnlyList<Past> people, string zone = Zone)
    {
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = zone });
        // The maker is no member, whatever she gave herself.
        var maker = People.New("maker@example.org", shelf.Clock.GetUtcNow());
        maker.IsMaker = true;
        db.Users.Add(maker);
        await db.SaveChangesAsync();
        db.MembershipGrants.Add(new MembershipGrant { PersonId = maker.Id, From = shelf.Clock.GetUtcNow().AddDays(-100) });
        foreach (var (past, i) in people.Select((p, i) => (p, i)))
        {
            var person = People.New($"p{i}@example.org", shelf.Clock.GetUtcNow());
            db.Users.Add(person);
            await db.SaveChangesAsync();
            if (past.FreeAt is { } free)
                db.PersonFirsts.Add(new PersonFirst { PersonId = person.Id, FreeAt = free });
            foreach (var (time, n) in past.Times.Select((t, n) => (t, n)))
            {
                if (time.IsPaid)
                    db.PaidMemberships.Add(new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{i}_{n}", StartedAt = time.From, ActiveUntil = time.Until!.Value, PaidThrough = time.Until });
                else
                    db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = time.From, Until = time.Until });
            }
        }
        await db.SaveChangesAsync();
    }

    [Fact]
    public async Task What_is_read_is_what_the_definitions_count_of_the_rows()
    {
        for (var seed = 0; seed < 4; seed++)
        {
            await using var shelf = await TempShelf.MakeAsync();
            var (random, zone, now) = (new Random(seed), DateTimeZoneProviders.Tzdb[Zone], shelf.Clock.GetUtcNow());
            List<Past> people = [.. Enumerable.Range(0, 40).Select(_ => MemberTotalsTests.Draw(random, zone, now))];
            await FillAsync(shelf, people);
            var slow = new SlowMembers(people, zone, now);
            var read = await ReadAsync(shelf, "2024-01", "2026-11");
            Assert.Equal((M("2026-11"), Zone, people.Count(p => SlowMembers.Is(p, now))), (read.Last, read.TimeZone, read.Members));
            Assert.True(read.Months.Count > 20, $"{read.Months.Count} months");
            foreach (var month in read.Months)
            {
                Assert.Equal((slow.AtStart(month.Month, true) + slow.AtStart(month.Month, false), slow.AtStart(month.Month, false)), (month.AtStart, month.GivenAtStart));
                Assert.Equal((slow.Joined(month.Month, true) + slow.Joined(month.Month, false), slow.Joined(month.Month, false), slow.Returned(month.Month)), (month.Joined, month.JoinedGiven, month.Returned));
                Assert.Equal((slow.Left(month.Month, true) + slow.Left(month.Month, false), slow.Left(month.Month, false)), (month.Left, month.LeftGiven));
                Assert.Equal(month.AtStart == 0 ? null : (double)month.Left / month.AtStart, month.Churn);
            }
            Assert.Equal(read.Members, read.Months[^1].AtEnd);
            Assert.Equal(read.Months.Where(m => m.Joined > 0).Select(m => m.Month), read.Stays.Select(r => r.Month));
            foreach (var row in read.Stays)
            {
                // The row ends with the last month that is over.
                Assert.Equal(Math.Max(1, ShopCalendar.MonthsBetween(row.Month, M("2026-11"))), row.Members.Count);
                foreach (var (members, n) in row.Members.Skip(1).Select((m, n) => (m, n + 1)))
                    Assert.Equal(slow.Stayed(row.Month, n), members);
            }
            foreach (var row in read.Free)
                Assert.Equal([slow.FirstFree(row.Month), .. MemberTotals.FreeDays.Select(d => slow.JoinedAfterFree(row.Month, d))], new[] { row.People }.Concat(row.Joined));
            Assert.Equal(read.Months.Sum(m => slow.FirstFree(m.Month)), read.Free.Sum(f => f.People));
            foreach (var n in Enumerable.Range(0, 30))
                Assert.Equal(read.Months.Sum(m => slow.LeftAfter(m.Month, n)), read.LeftAfter.SingleOrDefault(l => l.Months == n)?.People ?? 0);
        }
    }

    /// <summary>
    /// Worked by hand; common practice, no source: churn is who left in a month over who was there at its start, and a row of the triangle is one month's joiners.
    /// Four join in August (in London): one is there still, one leaves on the day of the month after (5 September), one in the second month, one left and is back.
    /// Two join in September, one of them by hand, who leaves in October.
    /// </summary>
    [Fact]
    public async Task Churn_and_the_triangle_by_a_worked_example()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await FillAsync(shelf,
        [
            Paid(("2026-08-05", "2027-01-01")), Paid(("2026-08-05", "2026-09-05")), Paid(("2026-08-10", "2026-10-12")), Paid(("2026-08-20", "2026-09-10"), ("2026-10-02", "2027-01-01")),
            Paid(("2026-09-01", "2027-01-01")), new Past([(At("2026-09-15"), At("2026-10-20"), false)], null),
        ], "Europe/London");
        var read = await ReadAsync(shelf);
        Assert.Equal(
            ["2026-08 0+4+0-0", "2026-09 4+2+0-2", "2026-10 4+0+1-2", "2026-11 3+0+0-0"],
            read.Months.Select(m => $"{m.Month:uuuu-MM} {m.AtStart}+{m.Joined}+{m.Returned}-{m.Left}"));
        Assert.Equal([null, 0.5, 0.5, 0.0], read.Months.Select(m => m.Churn));
        // August after one month: the first, and the third. After two: both, the third leaves two days later, and the fourth, who is back.
        Assert.Equal(["2026-08 4 2 3", "2026-09 2 2"], read.Stays.Select(r => $"{r.Month:uuuu-MM} {string.Join(' ', r.Members)}"));
        Assert.Equal([100, 50, 75], Enumerable.Range(0, 3).Select(read.Stays[0].InAHundred));
        // After 1, 2, 0 and 1 whole months.
        Assert.Equal([(0, 1), (1, 2), (2, 1)], read.LeftAfter.Select(l => (l.Months, l.People)));
        Assert.Equal((1.0, 4), (read.MedianMonths, read.Leavers));
        Assert.Equal((3, 0), (read.Paying, read.Given));
    }

    private static DateTimeOffset At(string day) => new(LocalDatePattern.Iso.Parse(day).Value.ToDateTimeUnspecified().AddHours(12), TimeSpan.Zero);

    private static Past Paid(params (string From, string Until)[] times) => new([.. times.Select(t => (At(t.From), (DateTimeOffset?)At(t.Until), true))], null);

    [Fact]
    public async Task Who_joined_within_so_many_days_of_a_first_free_download()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await FillAsync(shelf,
        [
            Free("2026-08-01", "2026-08-08"), Free("2026-08-01", "2026-08-09"), Free("2026-08-02", "2026-10-31"), Free("2026-08-02", "2026-11-01"), Free("2026-08-31", null), Free("2026-08-10", "2026-08-09"),
            Free("2026-11-01", "2026-11-02"),
        ]);
        var read = await ReadAsync(shelf);
        Assert.Equal(["2026-08 5: 1 2 3 over 110", "2026-11 1: 1 1 1 over 000"], read.Free.Select(f => $"{f.Month:uuuu-MM} {f.People}: {string.Join(' ', f.Joined)} over {string.Concat(f.AreOver.Select(o => o ? 1 : 0))}"));

        static Past Free(string free, string? joined) => new(joined is null ? [] : [(At(joined), (DateTimeOffset?)At(joined).AddDays(400), true)], At(free));
    }

    [Fact]
    public async Task Any_months_can_be_asked_for_and_none_lies_before_the_first_or_after_now()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await FillAsync(shelf, [Paid(("2024-02-29", "2026-02-28"))]);
        Assert.Equal(("2025-12", "2026-11", 12), Range(await ReadAsync(shelf)));
        Assert.Equal(("2024-02", "2026-11", 34), Range(await ReadAsync(shelf, "1990-01", "2050-01")));
        Assert.Equal(("2024-03", "2024-05", 3), Range(await ReadAsync(shelf, "2024-05", "2024-03")));
        Assert.Equal(("2024-02", "2024-06", 5), Range(await ReadAsync(shelf, null, "2024-06")));
        await using var empty = await TempShelf.MakeAsync();
        Assert.Equal(("2026-11", "2026-11", 1), Range(await ReadAsync(empty)));

        static (string, string, int) Range(MemberNumbers read) => ($"{read.First:uuuu-MM}", $"{read.Last:uuuu-MM}", read.Months.Count);
    }

    [Fact]
    public async Task A_deleted_person_stays_in_the_figures_of_what_is_over_and_has_left_with_that_day()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.FillAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail);
        await shelf.AskAsync(db => db.MembershipGrants.ExecuteUpdateAsync(s => s.SetProperty(g => g.From, shelf.Paying.Now.AddDays(-130))));
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        var before = await ReadAsync();
        Assert.Equal((2, 4), (before.Members, before.Stays.Single().Members.Count));

        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        var after = await ReadAsync();
        // Both had been given it; Wren paid besides, and her failed renewal was paid after all.
        Assert.Equal((1, 1), (after.Paying + after.Given, after.Months[^1].Left));
        Assert.Equal(before.Months.SkipLast(1).Select(Line), after.Months.SkipLast(1).Select(Line));
        Assert.Equal(before.Stays.Select(r => string.Join(' ', r.Members)), after.Stays.Select(r => string.Join(' ', r.Members)));
        Assert.Equal(before.Free.Select(f => (f.Month, f.People)), after.Free.Select(f => (f.Month, f.People)));
        Assert.Equal(after.Members, after.Months[^1].AtEnd);
        Assert.Empty(await shelf.AskAsync(db => db.FailedRenewals.ToListAsync()));

        Task<MemberNumbers> ReadAsync() => shelf.AskAsync(db => new ReadMemberNumbers(db, shelf.Paying.Clock).RunAsync(null, null, default));
        static string Line(MembersMonth m) => $"{m.Month} {m.AtStart} {m.GivenAtStart} {m.Joined} {m.JoinedGiven} {m.Returned} {m.Left} {m.LeftGiven} {m.Failed} {m.Recovered}";
    }
}
