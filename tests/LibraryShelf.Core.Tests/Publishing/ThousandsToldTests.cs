using System.Diagnostics;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Tests.Intake;
using Microsoft.EntityFrameworkCore;
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
