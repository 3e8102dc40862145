using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

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
        await db.SaveChangesAsync();
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
