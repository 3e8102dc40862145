using System.Data.Common;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Upkeep;

public sealed class SweepSpentTests
{
    [Fact]
    public async Task Each_row_goes_when_its_time_is_over_and_not_a_day_before()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        var person = new Person { Email = "wren@post.example", UserName = "wren@post.example", CreatedAt = now };
        var plan = new Plan { Minor = 600, Currency = "EUR" };
        db.AddRange(person, plan);
        await db.SaveChangesAsync();
        var (over, runs) = (new PaidMembership { PersonId = person.Id, PlanId = plan.Id, ProviderId = "over", EndedAt = now }, new PaidMembership { PersonId = person.Id, PlanId = plan.Id, ProviderId = "runs" });
        db.AddRange(over, runs);
        await db.SaveChangesAsync();
        db.AddRange(
            new SignInTicket { TokenHash = "spent", ExpiresAt = now, UsedAt = now },
            new LeaveTicket { TokenHash = "over", PaidMembershipId = over.Id }, new LeaveTicket { TokenHash = "runs", PaidMembershipId = runs.Id },
            new Joining { TokenHash = "unpaid", PlanId = plan.Id, AgreedAt = now }, new Joining { TokenHash = "paid", PlanId = plan.Id, AgreedAt = now, PaidAt = now },
            new PaymentEvent { ProviderId = "done", DoneAt = now }, new PaymentEvent { ProviderId = "open", ReceivedAt = now },
            new Deletion { PersonId = 9, At = now });
        await db.SaveChangesAsync();
        var gone = new List<int>();
        foreach (var day in new[] { 30, 31, 32, 366, 367 })
        {
            shelf.Clock.SetUtcNow(now.AddDays(day).AddMilliseconds(day is 31 or 366 or 367 ? 1 : 0));
            gone.Add(await SweepAsync(db, shelf, new ShelfSettings()));
        }
        // Day 31: the ticket and the link to leave what has ended, and the joining; day 366: the message and the number.
        Assert.Equal([0, 3, 0, 2, 0], gone);
        Assert.Equal("runs", (await db.LeaveTickets.SingleAsync()).TokenHash);
        Assert.Equal("paid", (await db.Joinings.SingleAsync()).TokenHash);
        Assert.Equal("open", (await db.PaymentEvents.SingleAsync()).ProviderId);
    }

    /// <summary>What was counted stays, and is the same when counted again afterwards; what is not counted yet, or can go on, keeps its events.</summary>
    [Fact]
    public async Task Events_of_downloads_that_are_counted_and_over_go_and_the_numbers_stay()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (whole, half) = ((await shelf.MadeAsync()).DownloadId, (await shelf.MadeAsync()).DownloadId);
        await RecordAsync(shelf, (whole, 0, 100), (whole, 100, shelf.Length), (half, 0, 50));
        await CountAsync(shelf);
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(410));
        var young = (await shelf.MadeAsync()).DownloadId;
        await RecordAsync(shelf, (young, 0, 10));
        var before = await TalliesAsync(shelf);
        await shelf.WithAsync(db => SweepAsync(db, shelf.Temp, shelf.Settings));
        Assert.Equal([young], await shelf.WithAsync(db => db.DownloadEvents.Select(e => e.DownloadId).ToListAsync()));
        Assert.Equal(before, await TalliesAsync(shelf));
        Assert.Equal(1, await CountAsync(shelf));
        Assert.Equal(3, (await TalliesAsync(shelf)).Count);
    }

    [Fact]
    public async Task As_many_months_as_are_set_events_are_kept_and_what_tells_visitors_apart()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var settings = new ShelfSettings { Privacy = new() { KeepEventsMonths = 1 } };
        var (old, young) = ((await shelf.MadeAsync()).DownloadId, "");
        await RecordAsync(shelf, (old, 0, 10));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(3));
        young = (await shelf.MadeAsync()).DownloadId;
        await RecordAsync(shelf, (young, 0, 10));
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.Visitor, "one").SetProperty(d => d.StartedAt, d => d.MadeAt)));
        await CountAsync(shelf);
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        // 25 November at noon, and 28. On 26 December the first one's day was over a month ago, and its link, which could go on until 26 November at 12:30, was not: with its
        // events stays who pressed twice.
        shelf.Temp.Clock.SetUtcNow(new DateTimeOffset(2026, 12, 26, 12, 30, 0, TimeSpan.Zero));
        await shelf.WithAsync(db => SweepAsync(db, shelf.Temp, settings));
        Assert.Equal((2, 2), await LeftAsync());
        shelf.Temp.Clock.Advance(TimeSpan.FromMilliseconds(1));
        await shelf.WithAsync(db => SweepAsync(db, shelf.Temp, new ShelfSettings()));
        Assert.Equal((2, 2), await LeftAsync());
        await shelf.WithAsync(db => SweepAsync(db, shelf.Temp, settings));
        Assert.Equal((1, 1), await LeftAsync());
        Assert.Equal([young], await shelf.WithAsync(db => db.Downloads.Where(d => d.Visitor != null).Select(d => d.Id).ToListAsync()));

        Task<(int, int)> LeftAsync() => shelf.WithAsync(async db => (await db.DownloadEvents.CountAsync(), await db.Downloads.CountAsync(d => d.Visitor != null)));
    }

    /// <summary>26 October, 12:00 UTC, is 02:00 of the same day in Honolulu, and of the 27th in Kiritimati; 05:00 is 19:00 of the 25th in Honolulu (IANA tz database: UTC-10 and UTC+14).</summary>
    [Fact]
    public async Task Searches_go_by_days_of_the_shops_calendar()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Shops.Add(new Core.Catalog.Shop { Name = "Saltmarsh Sound Room", TimeZone = "Pacific/Honolulu" });
        db.Sightings.AddRange(Enumerable.Range(24, 5).Select(day => new Sighting { Day = new(2026, 10, day), Kind = SightingKind.Search, Word = "bowed saw", Times = 1 }));
        await db.SaveChangesAsync();
        var settings = new ShelfSettings { Privacy = new() { KeepEventsMonths = 1 } };
        shelf.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 26, 5, 0, 0, TimeSpan.Zero));
        Assert.Equal(1, await SweepAsync(db, shelf, settings));
        shelf.Clock.SetUtcNow(new DateTimeOffset(2026, 11, 26, 12, 0, 0, TimeSpan.Zero));
        Assert.Equal(1, await SweepAsync(db, shelf, settings));
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, "Pacific/Kiritimati"));
        Assert.Equal(1, await SweepAsync(db, shelf, settings));
        Assert.Equal([new LocalDate(2026, 10, 27), new LocalDate(2026, 10, 28)], await db.Sightings.OrderBy(s => s.Day).Select(s => s.Day).ToListAsync());
    }

    /// <summary>In front are those of a link that can go on: they are passed by. Behind the first two that are both young nothing is looked at, whatever their number.</summary>
    [Fact]
    public async Task Only_events_up_to_the_first_young_ones_are_looked_at()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (open, over) = ((await shelf.MadeAsync()).DownloadId, (await shelf.MadeAsync()).DownloadId);
        await RecordAsync(shelf, (open, 0, 1), (open, 1, 2), (open, 2, 3), (over, 0, 1), (over, 1, 2));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(410));
        await shelf.WithAsync(db => db.Downloads.Where(d => d.Id == open).ExecuteUpdateAsync(s => s.SetProperty(d => d.FinishBy, shelf.Now)));
        var young = (await shelf.MadeAsync()).DownloadId;
        await RecordAsync(shelf, [.. Enumerable.Range(0, 9).Select(n => (young, n, n + 1L))]);
        await CountAsync(shelf);
        var reads = new Reads();
        await using (var db = shelf.Temp.Open(reads))
            Assert.Equal(2, await SweepAsync(db, shelf.Temp, shelf.Settings));
        Assert.Equal([open, young], await shelf.WithAsync(db => db.DownloadEvents.GroupBy(e => e.DownloadId).OrderBy(g => g.Min(e => e.Id)).Select(g => g.Key).ToListAsync()));
        // Open and open, open and over, over and young, young and young.
        Assert.Equal(4, reads.Portions);
    }

    private sealed class Reads : DbCommandInterceptor
    {
        public int Portions { get; private set; }

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            Portions += command.CommandText.Contains("FROM \"DownloadEvents\"", StringComparison.Ordinal) && command.CommandText.Contains("LIMIT", StringComparison.Ordinal) ? 1 : 0;
            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }

    private static Task<int> SweepAsync(Core.Data.ShelfDb db, TempShelf shelf, ShelfSettings settings) =>
        new SweepSpent(db, shelf.Clock, Options.Create(settings)) { Batch = 2 }.RunAsync(default);

    private static Task<int> CountAsync(StockedShelf shelf) => shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));

    private static Task<List<(string, long, DateTimeOffset?)>> TalliesAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
        (await db.DownloadTallies.AsNoTracking().OrderBy(t => t.DownloadId).ToListAsync()).ConvertAll(t => (t.DownloadId, t.BytesCovered, t.FinishedAt)));

    private static Task<int> RecordAsync(StockedShelf shelf, params (string Id, long From, long To)[] stretches) => shelf.WithAsync(async db =>
    {
        await new RecordEvents(db).RunAsync([.. stretches.Select(s => new DownloadEvent { DownloadId = s.Id, From = s.From, To = s.To, At = shelf.Now })], default);
        return 0;
    });
}
