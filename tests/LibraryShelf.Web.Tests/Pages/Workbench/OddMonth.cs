using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>
/// January 2028 in New Zealand, written as raw rows: a box in two versions, six people who are members at its edges, its drop, and who fetched what, some of it in a
/// day's or a month's first and last moment. The maker's, a robot's and the earlier of two presses are in none of the figures.
/// </summary>
internal static class OddMonth
{
    /// <summary>Midnights in Unix milliseconds by GNU date and the IANA tz database: TZ=Pacific/Auckland date -d '2028-01-01 00:00' +%s000, and of '2028-02-01 00:00'. Clocks are not put in between.</summary>
    public const long From = 1830250800000, To = 1832929200000, Day = 86_400_000;

    private const long Length = 10;
    private const long Sent = From + (14 * Day) + (Day / 2);

    public static async Task FillAsync(ShelfDb db)
    {
        var library = new Library { Slug = "reed-cove", Title = "Reed Cove" };
        library.Audiences.Add(new AudienceDecision { Audience = Audience.Members, DecidedAt = At(From - (60 * Day)) });
        foreach (var (number, at) in new[] { ("1.0.0", From - (30 * Day)), ("1.1.0", Sent) })
        {
            var release = new Release { Number = number };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, At(at)));
            release.TellAskedAt = null;
            library.Releases.Add(release);
        }
        var drop = new Drop { Month = new(2028, 1), State = DropState.Sent, SentAt = At(Sent) };
        db.AddRange(library, drop);
        var people = new List<Person>();
        for (var i = 1; i <= 6; i++)
            people.Add(new Person { Email = $"p{i}@post.example", NormalizedEmail = $"P{i}@POST.EXAMPLE", UserName = $"p{i}", NormalizedUserName = $"P{i}", SecurityStamp = "s" });
        db.Users.AddRange(people);
        await db.SaveChangesAsync();
        db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = library.Releases[1].Id });
        db.Archives.AddRange(
            new Archive { Id = 11, ReleaseId = library.Releases[0].Id, RecipeSha256 = "a", Length = Length, FileName = "a.zip" },
            new Archive { Id = 12, ReleaseId = library.Releases[1].Id, RecipeSha256 = "b", Length = Length, FileName = "b.zip" });
        await AddMembersAsync(db, [.. people.Select(p => p.Id)]);
        AddDownloads(db, library, drop.Id, [.. people.Select(p => p.Id)]);
        await AddPeopleOfADayAsync(db, people[0].Id);
        AddSeen(db, library.Id);
        await db.SaveChangesAsync();
    }

    /// <summary>10 February: midnights as above, of '2028-02-10' and '2028-02-11'.</summary>
    public const long PeopleFrom = To + (9 * Day), PeopleTo = To + (10 * Day);

    /// <summary>Of the other box: one who is signed in, twice; a visitor in its first moment and in its last; another who pressed twice; two who are not of this day; a robot, and the maker.</summary>
    private static async Task AddPeopleOfADayAsync(ShelfDb db, long person)
    {
        var archive = await db.Archives.SingleAsync(a => a.Id == 1);
        var box = await db.Libraries.Where(l => l.Slug == "tin-roof").Select(l => l.Id).SingleAsync();
        Add("morning", PeopleFrom + 1000, person);
        Add("evening", PeopleTo - 1000, person);
        Add("one's first", PeopleFrom, visitor: "one");
        Add("one's last", PeopleTo - 1, visitor: "one");
        Add("another pressed", PeopleFrom + 5000, visitor: "another");
        Add("another pressed again", PeopleFrom + 6000, visitor: "another");
        Add("before", PeopleFrom - 1, visitor: "before");
        Add("after", PeopleTo, visitor: "after");
        Add("a robot by its name", PeopleFrom + 1000, visitor: "robot", isRobot: true);
        Add("hers", PeopleFrom + 1000, why: MayDownloadWhy.Maker);

        void Add(string id, long at, long? personId = null, string? visitor = null, bool isRobot = false, MayDownloadWhy why = MayDownloadWhy.Free)
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = archive.ReleaseId, LibraryId = box, PersonId = personId, Visitor = visitor, Why = why, IsRobot = isRobot, StartedAt = At(at) });
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = archive.Length, BeginsAnswer = true, At = At(at) });
        }
    }

    /// <summary>On the month's first and last day, and beside it.</summary>
    private static void AddSeen(ShelfDb db, long box)
    {
        foreach (var (day, kind, of, word, times) in new (LocalDate, SightingKind, long, string, int)[]
        {
            (new(2028, 1, 1), SightingKind.Referrer, box, "reeds.example", 2), (new(2028, 1, 31), SightingKind.Referrer, box, "reeds.example", 3), (new(2028, 1, 31), SightingKind.Referrer, 0, "reeds.example", 1),
            (new(2027, 12, 31), SightingKind.Referrer, box, "reeds.example", 10), (new(2028, 2, 1), SightingKind.Referrer, 0, "dunes.example", 10),
            (new(2028, 1, 1), SightingKind.Search, 0, "zither", 4), (new(2028, 1, 31), SightingKind.Search, 0, "bowed saw", 2), (new(2028, 2, 1), SightingKind.Search, 0, "bowed saw", 7),
            (new(2028, 1, 1), SightingKind.Answer, 0, "206", 5), (new(2028, 1, 31), SightingKind.Answer, 0, "206", 6), (new(2028, 1, 31), SightingKind.Answer, 0, "410", 1), (new(2027, 12, 31), SightingKind.Answer, 0, "206", 9),
        })
            db.Sightings.Add(new Sighting { Day = day, Kind = kind, LibraryId = of, Word = word, Times = times });
        foreach (var month in db.Sightings.Local.GroupBy(s => (Month: s.Day.ToYearMonth(), s.Kind, s.LibraryId, s.Word)))
            db.MonthSightings.Add(new MonthSighting { Month = month.Key.Month, Kind = month.Key.Kind, LibraryId = month.Key.LibraryId, Word = month.Key.Word, Times = month.Sum(s => s.Times) });
    }

    /// <summary>The first is one for the month alone, the second by two times that touch, the third with a gap of a day in it, the fourth from the 20th on, the fifth since the moment before the month. The sixth paid for the month alone.</summary>
    private static async Task AddMembersAsync(ShelfDb db, IReadOnlyList<long> people)
    {
        var maker = await db.Users.SingleAsync(u => u.IsMaker);
        Give(people[0], From, To);
        Give(people[1], From - (31 * Day), From + (9 * Day));
        Pay(people[1], From + (9 * Day), To + (19 * Day));
        Give(people[2], From - (31 * Day), From + (4 * Day));
        Give(people[2], From + (5 * Day), null);
        Pay(people[3], From + (19 * Day), To + (50 * Day));
        Give(people[4], From - 1, null);
        db.PaidMonths.Add(new PaidMonth { PersonId = people[5], Month = new(2028, 1), PaymentId = "in_6", OpensAt = At(From + Day) });
        Give(maker.Id, From + Day, null);
        // A year for 70.00 that runs and one that is left at its end, and a month for 6.50, the last two of one who is a member anyway: 5.83 and 6.50 are 12.33.
        db.Plans.AddRange(new Plan { Id = 1, Months = 12, Minor = 7000, CreatedAt = At(From) }, new Plan { Id = 2, Months = 1, Minor = 650, CreatedAt = At(From) });
        await db.SaveChangesAsync();
        db.PaidMemberships.Local.Single(m => m.PersonId == people[3]).PlanId = 1;
        var until = To + (90 * Day);
        db.PaidMemberships.AddRange(
            new PaidMembership { PersonId = people[4], PlanId = 2, ProviderId = "sub_month", StartedAt = At(From), PaidThrough = At(until), ActiveUntil = At(until) },
            new PaidMembership { PersonId = people[4], PlanId = 1, ProviderId = "sub_left", StartedAt = At(From), PaidThrough = At(until), ActiveUntil = At(until), LeavesAt = At(until) },
            new PaidMembership { PersonId = maker.Id, PlanId = 1, ProviderId = "sub_hers", StartedAt = At(From), PaidThrough = At(until), ActiveUntil = At(until) });
        await db.SaveChangesAsync();
        db.MonthIncomes.Add(new MonthIncome { Month = new(2028, 1), Currency = "EUR", Minor = 650, Memberships = 1, At = At(To - 1) });
        foreach (var (provider, since, recovered) in new[] { ("sub_month", From, From + Day), ("sub_left", To - 1, 0L), ("sub_left", To, To + Day), ("sub_month", From - 1, 0L), ("sub_hers", From + Day, 0L) })
            db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = db.PaidMemberships.Local.Single(m => m.ProviderId == provider).Id, Since = At(since), RecoveredAt = recovered == 0 ? null : At(recovered) });

        void Give(long person, long from, long? until) => db.MembershipGrants.Add(new MembershipGrant { PersonId = person, From = At(from), Until = until is { } end ? At(end) : null });
        void Pay(long person, long from, long until) => db.PaidMemberships.Add(new PaidMembership { PersonId = person, ProviderId = $"sub_{person}", StartedAt = At(from), PaidThrough = At(until), ActiveUntil = At(until) });
    }

    private static void AddDownloads(ShelfDb db, Library library, long dropId, IReadOnlyList<long> people)
    {
        var (first, latest) = (library.Releases[0].Id, library.Releases[1].Id);
        Add("first", first, people[0], From + (4 * Day));
        Add("second", first, people[1], From + (5 * Day));
        // Of the drop: in the last moment of its first day, and of its seventh; in the month's last, as an update; in the next month's first.
        Add("sixth took it", latest, people[5], Sent + Day);
        Add("fifth took it", latest, people[4], Sent + (7 * Day));
        Add("first took it", latest, people[0], To - 1, fromReleaseId: first);
        Add("second took it", latest, people[1], To);
        Add("fourth took the month", latest, people[3], From + (20 * Day), dropId: dropId);
        // Of the two that were not finished one asked again and came to 7 of 10 bytes, one to 3.
        Add("third did not", latest, people[2], From + (17 * Day), parts: "0-3 3-7");
        Add("nor did the first at first", latest, people[0], From + (16 * Day), parts: "0-3");
        Add("second pressed", first, people[1], From + (18 * Day), parts: "0-3");
        Add("second pressed again", first, people[1], From + (18 * Day) + 10_000);
        Add("robot", first, null, From + (6 * Day), why: MayDownloadWhy.Free, isRobot: true);
        Add("maker", latest, null, Sent, why: MayDownloadWhy.Maker);

        void Add(string id, long releaseId, long? personId, long at, long? fromReleaseId = null, long? dropId = null, string parts = "0-10", MayDownloadWhy why = MayDownloadWhy.Member, bool isRobot = false)
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = releaseId == first ? 11 : 12, ReleaseId = releaseId, FromReleaseId = fromReleaseId, DropId = dropId, LibraryId = library.Id, PersonId = personId, Why = why, IsRobot = isRobot, StartedAt = At(at) });
            foreach (var part in parts.Split(' ').Select(p => p.Split('-')))
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = long.Parse(part[0], null), To = long.Parse(part[1], null), BeginsAnswer = true, At = At(at) });
        }
    }

    private static DateTimeOffset At(long milliseconds) => DateTimeOffset.FromUnixTimeMilliseconds(milliseconds);
}
