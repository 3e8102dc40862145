using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Letters.Weekly;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Letters.Weekly;

/// <summary>The shop is in Lisbon, the clock stands at Wednesday, 25 November 2026.</summary>
public sealed class WriteWeekLetterTests
{
    private readonly ShelfSettings settings = new() { PublicUrl = "https://shelf.example/", Mail = new() { FromAddress = "shelf@tinworks.example" } };

    [Fact]
    public async Task It_goes_out_once_on_Monday_at_eight_with_the_way_to_stop_it()
    {
        await using var shelf = await ShelfAsync();
        shelf.Clock.SetUtcNow(new(2026, 11, 30, 7, 59, 59, TimeSpan.Zero));
        Assert.False(await IsDueAsync(shelf));
        Assert.False(await WriteAsync(shelf));
        shelf.Clock.SetUtcNow(new(2026, 11, 30, 8, 0, 0, TimeSpan.Zero));
        Assert.True(await IsDueAsync(shelf));
        Assert.True(await WriteAsync(shelf));
        Assert.False(await IsDueAsync(shelf));
        Assert.False(await WriteAsync(shelf));

        var mailer = new FakeMailer();
        await using (var db = shelf.Open())
            await new SendOutbox(db, mailer, shelf.Clock, Options.Create(settings), NullLogger<SendOutbox>.Instance).RunAsync(default);
        var mail = Assert.Single(mailer.Tried);
        Assert.Equal(("maker@tinworks.example", "Your week: 1 member, 30 downloads finished"), (mail.To, mail.Subject));
        await using var after = shelf.Open();
        var key = await after.Users.Where(p => p.IsMaker).Select(p => p.LetterKey).SingleAsync();
        Assert.Equal($"""
            23 November 2026 to 29 November 2026
            ------------------------------------

            30 downloads were finished last week. That is 100 % more than in a usual week: 60 in the four before it.
            https://shelf.example/workbench/numbers/downloads?from=2026-10-26&to=2026-11-29

            1 person joined and 1 left last week: 1 member now.
            https://shelf.example/workbench/numbers/members

            “bowed saw” was looked for in vain 3 times last week.
            https://shelf.example/workbench/numbers/libraries?from=2026-11-23&to=2026-11-29

            You get this mail because you are the maker of Tinworks.

            You want no more mails about your week in figures? Press the button on this page:
            https://shelf.example/letters/{key}/week
            """.ReplaceLineEndings("\n"), mail.Text[..mail.Text.IndexOf("\n\n-- \n", StringComparison.Ordinal)]);
        Assert.Contains("<h2", mail.Html, StringComparison.Ordinal);
        Assert.Contains(">https://shelf.example/workbench/numbers/members</a>", mail.Html, StringComparison.Ordinal);
        Assert.Contains(mail.Headers, h => h.Key == "List-Unsubscribe" && h.Value == $"<https://shelf.example/letters/{key}/week>");
        Assert.Contains(mail.Headers, h => h.Key == "List-Unsubscribe-Post");
        Assert.Equal("week:2026-W48", (await after.Outbox.SingleAsync()).Cause);
    }

    [Fact]
    public async Task Each_week_has_its_own_also_over_the_turn_of_the_year()
    {
        await using var shelf = await ShelfAsync();
        foreach (var now in new DateTimeOffset[] { new(2026, 12, 28, 9, 0, 0, TimeSpan.Zero), new(2027, 1, 3, 23, 59, 0, TimeSpan.Zero), new(2027, 1, 4, 7, 0, 0, TimeSpan.Zero), new(2027, 1, 4, 8, 0, 0, TimeSpan.Zero), new(2027, 1, 11, 8, 0, 0, TimeSpan.Zero) })
        {
            shelf.Clock.SetUtcNow(now);
            await WriteAsync(shelf);
        }
        await using var db = shelf.Open();
        Assert.Equal(["week:2026-W52", "week:2026-W53", "week:2027-W01"], await db.Outbox.OrderBy(m => m.Id).Select(m => m.Cause).ToListAsync());
    }

    [Fact]
    public async Task After_a_stop_the_week_just_over_is_written_about_and_no_older_one()
    {
        await using var shelf = await ShelfAsync();
        shelf.Clock.SetUtcNow(new(2026, 12, 20, 23, 0, 0, TimeSpan.Zero));
        Assert.True(await WriteAsync(shelf));
        Assert.False(await WriteAsync(shelf));
        await using var db = shelf.Open();
        Assert.Equal("week:2026-W50", (await db.Outbox.SingleAsync()).Cause);
    }

    [Theory]
    [InlineData("refused")]
    [InlineData("held")]
    [InlineData("trial")]
    [InlineData("practice")]
    [InlineData("new")]
    [InlineData("uncounted")]
    public async Task None_is_written_where_none_is_wanted_or_may_go(string why)
    {
        await using var shelf = await ShelfAsync();
        shelf.Clock.SetUtcNow(new(2026, 11, 30, 9, 0, 0, TimeSpan.Zero));
        await using (var db = shelf.Open())
        {
            var (shop, maker) = (await db.Shops.SingleAsync(), await db.Users.SingleAsync(p => p.IsMaker));
            switch (why)
            {
                case "refused": db.MailRefusals.Add(new MailRefusal { PersonId = maker.Id, Kind = MailKind.Weekly }); break;
                case "held": shop.HeldSince = shelf.Clock.GetUtcNow(); break;
                case "trial": shop.IsTrial = true; break;
                case "practice": settings.Payments.Practice = true; break;
                case "new": maker.CreatedAt = shelf.Clock.GetUtcNow(); break;
                default: db.DayRolls.Add(new DayRoll { Day = new(2026, 11, 29), Changed = 2, Rolled = 1 }); break;
            }
            await db.SaveChangesAsync();
        }
        Assert.False(await IsDueAsync(shelf));
        Assert.False(await WriteAsync(shelf));
        await using var after = shelf.Open();
        Assert.Empty(await after.Outbox.ToListAsync());
    }

    /// <summary>The page's months, added up by <see cref="MemberTotals"/>, and days: over a whole month both say the same.</summary>
    [Fact]
    public async Task Who_came_and_went_in_the_days_of_a_month_is_what_the_month_says()
    {
        await using var shelf = await ShelfAsync();
        var random = new Random(48);
        await using (var db = shelf.Open())
        {
            for (var i = 0; i < 200; i++)
            {
                var person = new Person { Email = $"p{i}@post.example", NormalizedEmail = $"P{i}@POST.EXAMPLE", UserName = $"p{i}", NormalizedUserName = $"P{i}", SecurityStamp = "s" };
                db.Users.Add(person);
                await db.SaveChangesAsync();
                for (var stay = 0; stay < random.Next(1, 4); stay++)
                {
                    var from = shelf.Clock.GetUtcNow().AddHours(-random.Next(1, 24 * 120));
                    db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = from, Until = random.Next(3) == 0 ? null : from.AddHours(random.Next(1, 24 * 60)) });
                }
            }
            await db.SaveChangesAsync();
        }
        await using var reading = shelf.Open();
        var months = await new ReadMemberNumbers(reading, shelf.Clock).RunAsync(new(2026, 8), null, default);
        foreach (var month in months.Months)
        {
            var moves = await new ReadMemberMoves(reading, shelf.Clock).RunAsync(new(month.Month.OnDayOfMonth(1), month.Month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1)), default);
            Assert.Equal((month.Joined, month.Returned, month.Left, months.Members), (moves.Joined, moves.Returned, moves.Left, moves.Members));
        }
        Assert.True(months.Months.Sum(m => m.Returned) > 10 && months.Months.Sum(m => m.Left) > 10, "Hardly anybody moved.");
    }

    /// <summary>The backup is from before Monday's letter. What the old shelf told on Monday is not told again; what came due since, nobody else told.</summary>
    [Theory]
    [InlineData("2026-11-30T09:00:00Z", false)]
    [InlineData("2026-11-30T08:00:00Z", false)]
    [InlineData("2026-11-30T07:59:59Z", true)]
    [InlineData("2026-11-26T09:00:00Z", true)]
    public async Task A_restored_shelf_tells_no_week_that_was_due_before_it_was_restored(string restored, bool isTold)
    {
        await using var shelf = await ShelfAsync();
        await using (var db = shelf.Open())
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, DateTimeOffset.Parse(restored, CultureInfo.InvariantCulture)));
        shelf.Clock.SetUtcNow(new(2026, 12, 1, 10, 0, 0, TimeSpan.Zero));
        Assert.False(await IsDueAsync(shelf));
        await using (var db = shelf.Open())
            Assert.Equal(EndHoldOutcome.Ended, await new EndHold(db, shelf.Clock).RunAsync(throwAway: false, default));
        Assert.Equal(isTold, await IsDueAsync(shelf));
        Assert.Equal(isTold, await WriteAsync(shelf));
        await using (var db = shelf.Open())
        {
            var mail = await db.Outbox.AsNoTracking().SingleAsync(m => m.Cause == "week:2026-W48");
            Assert.Equal(isTold ? (false, null) : (true, EndHold.ToldBefore), (mail.IsLeftOut, mail.LastError));
            Assert.Equal(0, await new WatchOutbox(db, shelf.Clock).RunAsync(default));
        }
        // The next one comes, whatever became of this one.
        shelf.Clock.SetUtcNow(new(2026, 12, 7, 8, 0, 0, TimeSpan.Zero));
        Assert.True(await WriteAsync(shelf));
    }

    private async Task<bool> IsDueAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await new FindWeekDue(db, shelf.Clock, Options.Create(settings)).RunAsync(default);
    }

    private async Task<bool> WriteAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await new WriteWeekLetter(db, shelf.Clock, Options.Create(settings)).RunAsync(default);
    }

    /// <summary>60 downloads in four weeks and 30 in the one after, one member who joined in it and one who left, and a search.</summary>
    private static async Task<TempShelf> ShelfAsync()
    {
        var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Tinworks", TimeZone = "Europe/Lisbon" });
        var library = new Library { Slug = "tin-roof", Title = "Tin Roof", CreatedAt = now };
        library.Releases.Add(new Release { Number = "1.0.0", CreatedAt = now });
        db.Libraries.Add(library);
        Person Someone(string name, bool isMaker = false) => new()
        {
            Email = $"{name}@tinworks.example", NormalizedEmail = $"{name.ToUpperInvariant()}@TINWORKS.EXAMPLE", UserName = name, NormalizedUserName = name, SecurityStamp = "s",
            IsMaker = isMaker, CreatedAt = now.AddDays(-100),
        };
        var (maker, joined, left) = (Someone("maker", isMaker: true), Someone("sedge"), Someone("wren"));
        db.Users.AddRange(maker, joined, left);
        await db.SaveChangesAsync();
        var release = library.Releases[0].Id;
        DayCount Day(int month, int day, int finished) => new() { Day = new LocalDate(2026, month, day), LibraryId = library.Id, ReleaseId = release, By = FetchedBy.Free, Started = finished, Finished = finished, Ended = finished };
        db.DayCounts.AddRange(Day(10, 25, 500), Day(10, 26, 30), Day(11, 22, 30), Day(11, 23, 10), Day(11, 29, 20), Day(11, 30, 500));
        db.DaySums.Add(new DaySum { Day = new(2026, 10, 25), Started = 500, Finished = 500 });
        db.Sightings.Add(new Sighting { Day = new(2026, 11, 29), Kind = SightingKind.Search, Word = "bowed saw", Times = 3 });
        db.MonthSightings.Add(new MonthSighting { Month = new(2026, 11), Kind = SightingKind.Search, Word = "bowed saw", Times = 3 });
        db.MembershipGrants.AddRange(
            new MembershipGrant { PersonId = joined.Id, From = new(2026, 11, 23, 0, 0, 0, TimeSpan.Zero) },
            // To the last instant of Sunday.
            new MembershipGrant { PersonId = left.Id, From = now.AddDays(-50), Until = new(2026, 11, 30, 0, 0, 0, TimeSpan.Zero) });
        await db.SaveChangesAsync();
        return shelf;
    }
}
