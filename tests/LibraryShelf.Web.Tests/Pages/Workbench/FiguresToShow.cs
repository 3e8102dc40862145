using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>
/// Invented figures of a shelf with one version out, written straight into the rolled-up tables from the first day of 2026 to today, so that every picture on the
/// pages of figures has something to show, in these days and in others beside them. The version is said to have come out on 15 April, after an earlier one that was taken back.
/// </summary>
internal static class FiguresToShow
{
    private static readonly LocalDate First = new(2026, 1, 1);
    private static readonly LocalDate EarlierOut = new(2026, 2, 10), Out = new(2026, 4, 15);

    /// <param name="db">In which one version is published.</param>
    /// <param name="now">After August 2026.</param>
    public static async Task AddAsync(ShelfDb db, DateTimeOffset now)
    {
        var today = Instant.FromDateTimeOffset(now).InUtc().Date;
        var release = await db.Releases.SingleAsync(r => r.State == ReleaseState.Published);
        var earlier = new Release { LibraryId = release.LibraryId, Number = "0.9.0", CreatedAt = At(EarlierOut), WithdrawnBecause = "The lid buzzed." };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published, ReleaseState.Withdrawn })
            Assert.True(earlier.MoveTo(state, At(EarlierOut)));
        earlier.TellAskedAt = null;
        db.Releases.Add(earlier);
        await db.SaveChangesAsync();
        await db.Releases.Where(r => r.Id == release.Id).ExecuteUpdateAsync(s => s.SetProperty(r => r.PublishedAt, At(Out)).SetProperty(r => r.SealedAt, At(Out)));
        AddDays(db, today, release);
        AddVersions(db, earlier, release, await AddMembersAsync(db, today, now));
        await db.SaveChangesAsync();
        await AddDropsAsync(db, today, now);
    }

    /// <summary>Three a day and the most where a drop or the version came out; some updates, some never finished.</summary>
    private static void AddDays(ShelfDb db, LocalDate today, Release release)
    {
        var counts = new List<DayCount>();
        foreach (var (day, i) in Enumerable.Range(0, Period.DaysBetween(First, today) + 1).Select(i => (First.PlusDays(i), i)))
        {
            var (started, updates) = (3 + (i % 4) + (day.Day == 1 ? 20 : 0) + (day == Out ? 30 : 0), day == Out || i % 3 == 0 ? 2 : 0);
            counts.Add(Of(day, FetchedKind.Whole, FetchedBy.Free, started));
            if (updates > 0)
                counts.Add(Of(day, FetchedKind.Update, FetchedBy.Members, updates));
            db.DaySums.Add(new DaySum { Day = day, Started = started + updates, Finished = started + updates - 2 });
            foreach (var library in new[] { 0, release.LibraryId })
                db.DayPeople.Add(new DayPeople { Day = day, LibraryId = library, People = started, SignedIn = updates, Free = started, Members = updates });
        }
        db.DayCounts.AddRange(counts);
        foreach (var month in counts.GroupBy(c => (Month: c.Day.ToYearMonth(), c.Kind, c.By)))
            db.MonthCounts.Add(new MonthCount
            {
                Month = month.Key.Month, LibraryId = release.LibraryId, ReleaseId = release.Id, Kind = month.Key.Kind, By = month.Key.By, Started = month.Sum(c => c.Started),
                Finished = month.Sum(c => c.Finished), Ended = month.Sum(c => c.Ended), Requests = month.Sum(c => c.Requests), Resumes = month.Sum(c => c.Resumes), Bytes = month.Sum(c => c.Bytes),
            });
        foreach (var month in Months(today))
        {
            db.MonthPeople.AddRange(new MonthPeople { Month = month, SignedIn = 9, Free = 6, Members = 5 }, new MonthPeople { Month = month, LibraryId = release.LibraryId, SignedIn = 9, Free = 6, Members = 5 });
            foreach (var (kind, library, word) in new[] { (SightingKind.Answer, 0, "206"), (SightingKind.Referrer, release.LibraryId, "reeds.example"), (SightingKind.Search, 0, "bowed saw") })
            {
                db.Sightings.Add(new Sighting { Day = month.OnDayOfMonth(1), Kind = kind, LibraryId = library, Word = word, Times = 4 });
                db.MonthSightings.Add(new MonthSighting { Month = month, Kind = kind, LibraryId = library, Word = word, Times = 4 });
            }
        }

        DayCount Of(LocalDate day, FetchedKind kind, FetchedBy by, int started) => new()
        {
            Day = day, LibraryId = release.LibraryId, ReleaseId = release.Id, Kind = kind, By = by, Started = started, Requests = started + 1, Resumes = 1, Bytes = started * 1_700_000_000L,
            Finished = started - (kind == FetchedKind.Whole ? 2 : 0), Ended = started - (kind == FetchedKind.Whole ? 2 : 0),
        };
    }

    /// <summary>Twenty people came to the earlier version, a day each; thirteen of them to the later one, ever more slowly, and six others to it at once.</summary>
    private static void AddVersions(ShelfDb db, Release earlier, Release release, List<long> people)
    {
        for (var i = 0; i < 26; i++)
        {
            var (came, went) = (i < 20 ? EarlierOut.PlusDays(i) : Out.PlusDays(i), Out.PlusDays(1 + (i * i / 4)));
            if (i < 20)
                Add(people[i], came, 0, earlier.Id, i < 13 ? release.Id : 0, earlier.Id);
            if (i is < 13 or >= 20)
                Add(people[i], i < 13 ? went : came, i < 13 ? earlier.Id : 0, release.Id, 0, i < 13 ? earlier.Id : release.Id);
        }

        void Add(long person, LocalDate day, long from, long to, long next, long latestThen)
        {
            db.PersonVersions.Add(new PersonVersion { PersonId = person, LibraryId = release.LibraryId, ReleaseId = to, FromReleaseId = from, NextReleaseId = next, LatestThenId = latestThen, Since = At(day), Day = day });
            if (db.VersionMoves.Local.FirstOrDefault(m => m.Day == day && m.FromReleaseId == from && m.ReleaseId == to && m.LatestThenId == latestThen) is { } move)
                move.People++;
            else
                db.VersionMoves.Add(new VersionMove { Day = day, LibraryId = release.LibraryId, FromReleaseId = from, ReleaseId = to, LatestThenId = latestThen, People = 1 });
        }
    }

    /// <summary>Some join each month, one of them given it; some leave after a while, one of those comes back. Others fetch what is free alone.</summary>
    private static async Task<List<long>> AddMembersAsync(ShelfDb db, LocalDate today, DateTimeOffset now)
    {
        var plan = new Plan { Minor = 600, Months = 1, Currency = "GBP", CreatedAt = At(First), ClosedAt = now };
        db.Plans.Add(plan);
        await db.SaveChangesAsync();
        var people = new List<long>();
        foreach (var (month, m) in Months(today).Select((month, m) => (month, m)))
        {
            if (month != today.ToYearMonth())
                db.MonthIncomes.Add(new MonthIncome { Month = month, Currency = "GBP", Minor = 600 * (m + 2), Memberships = m + 2, At = now });
            for (var i = 0; i < 3 + (m % 2); i++)
            {
                var id = 2_000 + (10 * m) + i;
                var from = At(month.OnDayOfMonth(1)).AddHours(i);
                var until = (m + i) % 3 == 0 && from.AddDays(40 + (30 * (m % 3))) is var end && end < now ? end : (DateTimeOffset?)null;
                db.Users.Add(new Person { Id = id, Email = $"p{id}@post.example", NormalizedEmail = $"P{id}@POST.EXAMPLE", UserName = $"p{id}", NormalizedUserName = $"P{id}", SecurityStamp = "s", CreatedAt = from });
                people.Add(id);
                db.PersonFirsts.Add(new PersonFirst { PersonId = id, FreeAt = from.AddDays(-1) });
                if (i == 0)
                    continue;
                if (i == 1)
                    db.MembershipGrants.Add(new MembershipGrant { PersonId = id, From = from, Until = until });
                else
                    Pay(from, until ?? now.AddDays(20));
                if (i == 2 && until?.AddDays(9) is { } back && back < now)
                    Pay(back, now.AddDays(20));

                void Pay(DateTimeOffset from, DateTimeOffset until) => db.PaidMemberships.Add(
                    new PaidMembership { PersonId = id, PlanId = plan.Id, ProviderId = $"sub_{id}_{from:yyyyMMdd}", StartedAt = from, PaidThrough = until, ActiveUntil = until });
            }
        }
        await db.SaveChangesAsync();
        foreach (var paid in db.PaidMemberships.Local.Take(2).ToList())
            db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = paid.Id, Since = paid.StartedAt.AddDays(31), RecoveredAt = paid.StartedAt.AddDays(33) });
        return people;
    }

    /// <summary>One on the first of each month, at nine in the morning.</summary>
    private static async Task AddDropsAsync(ShelfDb db, LocalDate today, DateTimeOffset now)
    {
        foreach (var (month, i) in Months(today).Select((month, i) => (month, i)))
        {
            var drop = new Drop { Month = month, Title = $"Low water {i + 1}", State = DropState.Sent, DueAt = At(month.OnDayOfMonth(1)), SentAt = At(month.OnDayOfMonth(1)), CreatedAt = At(First) };
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            db.DropUptakes.Add(new DropUptake { DropId = drop.Id, Holders = 40 + i, After1 = 8 + (i % 3), After7 = 15 + (i % 5), After30 = 24, ByNow = 30 - (i % 4), RolledAt = now });
        }
        await db.SaveChangesAsync();
    }

    private static IEnumerable<YearMonth> Months(LocalDate today)
    {
        for (var month = First.ToYearMonth(); month <= today.ToYearMonth(); month = month.PlusMonths(1))
            yield return month;
    }

    private static DateTimeOffset At(LocalDate day) => day.At(new(9, 0)).InUtc().ToDateTimeOffset();
}
