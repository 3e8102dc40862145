using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
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

    private static async Task EmptyAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        await db.FailedRenewals.ExecuteDeleteAsync();
        await db.PersonFirsts.ExecuteDeleteAsync();
        await db.MonthIncomes.ExecuteDeleteAsync();
        await db.PaidMemberships.ExecuteDeleteAsync();
        await db.MembershipGrants.ExecuteDeleteAsync();
        await db.Plans.ExecuteDeleteAsync();
        await db.Users.ExecuteDeleteAsync();
        await db.Shops.ExecuteDeleteAsync();
    }

    private static async Task FillAsync(TempShelf shelf, IReadOnlyList<Past> people, string zone = Zone)
    {
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = zone });
        // The maker is no member, whatever she gave herself.
        var maker = People.New("maker@example.org", shelf.Clock.GetUtcNow());
        maker.IsMaker = true;
        var persons = people.Select((_, i) => People.New($"p{i}@example.org", shelf.Clock.GetUtcNow())).ToList();
        var plans = people.SelectMany(p => p.Money).Select(m => m.Plan).OfType<(long Minor, int Months, string Currency)>().Distinct().ToDictionary(p => p, p => new Plan { Minor = p.Minor, Months = p.Months, Currency = p.Currency });
        db.Users.AddRange(persons.Append(maker));
        db.Plans.AddRange(plans.Values);
        await db.SaveChangesAsync();
        db.MembershipGrants.Add(new MembershipGrant { PersonId = maker.Id, From = shelf.Clock.GetUtcNow().AddDays(-100) });
        var hers = new PaidMembership { PersonId = maker.Id, ProviderId = "sub_maker", PlanId = plans.Values.FirstOrDefault()?.Id, StartedAt = shelf.Clock.GetUtcNow().AddDays(-100), ActiveUntil = shelf.Clock.GetUtcNow().AddDays(10) };
        List<(PaidMembership Membership, Terms? Terms)> paid = [(hers, null)];
        foreach (var (past, person) in people.Zip(persons))
        {
            if (past.FreeAt is { } free)
                db.PersonFirsts.Add(new PersonFirst { PersonId = person.Id, FreeAt = free });
            db.MembershipGrants.AddRange(past.Times.Where(t => !t.IsPaid).Select(t => new MembershipGrant { PersonId = person.Id, From = t.From, Until = t.Until }));
            foreach (var (time, n) in past.Times.Where(t => t.IsPaid).Select((t, n) => (t, n)))
            {
                var terms = n < past.Money.Count ? past.Money[n] : null;
                paid.Add((new PaidMembership
                {
                    PersonId = person.Id, ProviderId = $"sub_{person.Id}_{n}", StartedAt = time.From, ActiveUntil = time.Until!.Value, PaidThrough = time.Until, IsPaused = terms is { IsPaused: true },
                    PlanId = terms?.Plan is { } plan ? plans[plan].Id : null, LeavesAt = terms is { IsLeaving: true } ? time.Until : null, EndedAt = terms is { IsEnded: true } ? time.From : null,
                }, terms));
            }
        }
        db.PaidMemberships.AddRange(paid.Select(p => p.Membership));
        await db.SaveChangesAsync();
        // Hers is none either.
        db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = hers.Id, Since = hers.StartedAt.AddDays(30) });
        db.FailedRenewals.AddRange(paid.SelectMany(p => (p.Terms?.Failed ?? []).Select(f => new FailedRenewal { PaidMembershipId = p.Membership.Id, Since = f.Since, RecoveredAt = f.PaidAt })));
        await db.SaveChangesAsync();
    }

    /// <summary>A past, and what is known of its money: three plans in two currencies, or none; renewals that failed at any time in it, or at the very turn of a month.</summary>
    private static Past DrawWithMoney(Random random, DateTimeZone zone, DateTimeOffset now)
    {
        (long, int, string)?[] plans = [(700, 1, "GBP"), (5_005, 12, "GBP"), (900, 1, "EUR"), null];
        var past = MemberTotalsTests.Draw(random, zone, now);
        return past with { Money = [.. past.Times.Where(t => t.IsPaid).Select(t => new Terms(plans[random.Next(plans.Length)], random.Next(8) == 0, random.Next(8) == 0, random.Next(8) == 0, [.. Failed(t.From, t.Until!.Value)]))] };

        IEnumerable<(DateTimeOffset, DateTimeOffset?)> Failed(DateTimeOffset from, DateTimeOffset until)
        {
            var at = from;
            for (var n = random.Next(3); n > 0; n--)
            {
                at = at.AddMinutes(1 + random.Next(60 * 1440));
                if (random.Next(3) == 0)
                    at = zone.AtStartOfDay(Instant.FromDateTimeOffset(at).InZone(zone).Date.ToYearMonth().PlusMonths(1).OnDayOfMonth(1)).ToDateTimeOffset().ToUniversalTime().AddMilliseconds(-random.Next(2));
                if (at < until && at <= now)
                    yield return (at, random.Next(2) == 0 ? null : at.AddDays(random.Next(20)));
            }
        }
    }

    [Fact]
    public async Task What_is_read_is_what_the_definitions_count_of_the_rows()
    {
        await using var shelf = await TempShelf.MakeAsync();
        // A thousand pasts; fewer on PostgreSQL.
        for (var seed = 0; seed < (TestDatabase.IsPostgres ? 4 : 25); seed++)
        {
            await EmptyAsync(shelf);
            var (random, zone, now) = (new Random(seed), DateTimeZoneProviders.Tzdb[Zone], shelf.Clock.GetUtcNow());
            List<Past> people = [.. Enumerable.Range(0, 40).Select(_ => DrawWithMoney(random, zone, now))];
            await FillAsync(shelf, people);
            var since = new YearMonth(2025, 1 + random.Next(12));
            await AskAsync(shelf, db =>
            {
                db.MonthIncomes.Add(new MonthIncome { Month = since, Currency = "GBP", At = now.AddYears(-1) });
                return db.SaveChangesAsync();
            });
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
                // Of months before income was written down it is not known which failed.
                Assert.Equal(month.Month < since ? (null, null) : (slow.Failed(month.Month), slow.Recovered(month.Month)), (month.Failed, month.Recovered));
            }
            Assert.Contains(read.Months, m => m.Failed > m.Recovered && m.Recovered > 0);
            Assert.Equal(slow.Income(), Lines(read.Income));
            Assert.Equal(slow.WithoutPrice, read.WithoutPrice);
            Assert.Equal(Lines(read.Income), Lines(read.Months[^1].Income));
            // Written down, it stays as it was when the month is over, whatever is so then.
            await AskAsync(shelf, db => new KeepIncome(db, shelf.Clock).RunAsync(default));
            await AskAsync(shelf, db => db.PaidMemberships.ExecuteUpdateAsync(s => s.SetProperty(m => m.IsPaused, true)));
            shelf.Clock.AdjustTime(now.AddDays(20));
            var later = await ReadAsync(shelf, "2026-11", "2026-12");
            shelf.Clock.AdjustTime(now);
            Assert.Equal(slow.Income(), Lines([.. later.Months[0].Income.Where(i => i.Memberships > 0)]));
            Assert.Empty(later.Months[1].Income);
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

    private static List<string> Lines(IReadOnlyList<MonthlyIncome> incomes) => [.. incomes.Select(i => $"{i.Currency} {i.Minor} of {i.Memberships}").Order(StringComparer.Ordinal)];

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
