using System.Data.Common;
using System.Diagnostics;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Intake;
using LibraryShelf.Core.Tests.Letters;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using NodaTime;
using Xunit.Abstractions;

namespace LibraryShelf.Core.Tests.Publishing;

/// <summary>
/// How long telling 5,000 people holds SQLite's one writer; the house's rule is 250 ms. The figures are printed. The bound here is on the
/// processor's time, as in <see cref="WriterHeldTests"/>.
/// </summary>
[Trait("Database", "sqlite")]
public sealed class ThousandsToldTests(ITestOutputHelper output)
{
    private const int People = 5000;
    private const int Letters = 30;
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(1);

    [Fact]
    public async Task Withdrawing_what_5000_people_fetched_holds_the_writer_shortly()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        await FetchedByThousandsAsync(bench, first);
        var watch = new WriterHeldTests.HeldWatch();
        await using var db = bench.Bench.Shelf.Open(watch);

        var whole = Stopwatch.StartNew();
        Assert.Equal(People, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(
            await new WithdrawRelease(db, bench.Bench.Shelf.Clock).RunAsync(first, "It hums.", OutBench.Address, default)).Told);
        Say("withdrawn");
        Assert.Equal(People, await new TellPeople(db, bench.Bench.Shelf.Clock).RunAsync(first, null, default));
        Say("told");
        Assert.Equal(People, await db.Outbox.CountAsync(m => m.Cause.StartsWith("withdrawn:")));

        var mended = await bench.SealedAsync("1.0.1");
        db.ChangeTracker.Clear();
        whole.Restart();
        await new PublishRelease(db, bench.Bench.Shelf.Clock).RunAsync(mended, Audience.Free, declares: false, OutBench.Address, default);
        Say("published");
        Assert.Equal(People, await new TellPeople(db, bench.Bench.Shelf.Clock).RunAsync(mended, null, default));
        Say("offered the mended one");
        Assert.Equal(People, await db.Outbox.CountAsync(m => m.Cause.StartsWith("mended-after:")));

        void Say(string what)
        {
            output.WriteLine($"{what}: writer held {watch.Longest.TotalMilliseconds:N0} ms at most (processor {watch.Processor.TotalMilliseconds:N0} ms) of {whole.ElapsedMilliseconds:N0} ms");
            Assert.InRange(watch.Processor, TimeSpan.Zero, Bound);
            (watch.Longest, watch.Processor) = (default, default);
        }
    }

    [Fact]
    public async Task Telling_5000_members_of_a_month_that_slips_holds_the_writer_shortly_and_composing_the_letters_not_at_all()
    {
        await using var bench = await OutBench.MakeAsync();
        var (clock, month) = (bench.Bench.Shelf.Clock, new YearMonth(2026, 11));
        await MembersAsync(bench);
        var settings = Options.Create(new ShelfSettings { PublicUrl = OutBench.Address });
        var watch = new WriterHeldTests.HeldWatch();
        await using var db = bench.Bench.Shelf.Open(watch);

        Assert.Equal(new TellOfSlipOutcome.Told(People), await new TellOfSlip(db, clock, settings).RunAsync(month, "The kiln broke.", null, default));
        output.WriteLine($"told: writer held {watch.Longest.TotalMilliseconds:N0} ms (processor {watch.Processor.TotalMilliseconds:N0} ms)");
        Assert.InRange(watch.Processor, TimeSpan.FromTicks(1), Bound);

        // All but a few letters wait for another hour.
        await bench.WithAsync(o => o.Outbox.Where(m => m.PersonId >= 1000 + Letters).ExecuteUpdateAsync(s => s.SetProperty(m => m.NextTryAt, clock.GetUtcNow().AddHours(1))));
        db.ChangeTracker.Clear();
        (watch.Longest, watch.Processor) = (default, default);
        // While a letter is on its way somebody else writes, who would be refused if the writer were held.
        var isHeld = false;
        var other = new FakeMailer { Answer = _ => { isHeld = isHeld || !CanWrite(bench); return null; } };
        Assert.Equal(Letters, (await new SendOutbox(db, other, clock, settings, NullLogger<SendOutbox>.Instance).RunAsync(default)).Sent);
        Assert.False(isHeld);
        Assert.Equal(default, (watch.Longest, watch.Processor));
    }

    private static bool CanWrite(OutBench bench)
    {
        using var db = bench.Bench.Shelf.Open();
        db.Database.SetCommandTimeout(1);
        try
        {
            return db.Shops.ExecuteUpdate(s => s.SetProperty(x => x.Name, "Saltmarsh Sound Room")) == 1;
        }
        catch (DbException)
        {
            return false;
        }
    }

    private static Task<int> MembersAsync(OutBench bench) => bench.WithAsync(async db =>
    {
        var now = bench.Bench.Shelf.Clock.GetUtcNow();
        for (var i = 0; i < People; i++)
        {
            var email = $"person{i}@post.example";
            db.Users.Add(new Person { Id = 1000 + i, Email = email, UserName = email, NormalizedEmail = email.ToUpperInvariant(), NormalizedUserName = email.ToUpperInvariant() });
            db.MembershipGrants.Add(new MembershipGrant { PersonId = 1000 + i, From = now });
        }
        return await db.SaveChangesAsync();
    });

    private static Task<int> FetchedByThousandsAsync(OutBench bench, long release) => bench.WithAsync(async db =>
    {
        var (now, library) = (bench.Bench.Shelf.Clock.GetUtcNow(), await db.Releases.Where(r => r.Id == release).Select(r => r.LibraryId).SingleAsync());
        for (var i = 0; i < People; i++)
        {
            var email = $"person{i}@post.example";
            db.Users.Add(new Person { Id = 1000 + i, Email = email, UserName = email, NormalizedEmail = email.ToUpperInvariant(), NormalizedUserName = email.ToUpperInvariant() });
            db.Downloads.Add(new Download
            {
                Id = $"download-{i}", ArchiveId = 1, ReleaseId = release, LibraryId = library, PersonId = 1000 + i, Why = MayDownloadWhy.Free, MadeAt = now, StartBy = now, FinishBy = now, StartedAt = now,
            });
        }
        return await db.SaveChangesAsync();
    });
}
