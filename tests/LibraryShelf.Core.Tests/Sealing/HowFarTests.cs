using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Tests.Checking;
using LibraryShelf.Core.Tests.Comparing;
using LibraryShelf.Core.Tests.Data;
using LibraryShelf.Core.Tests.Sealing.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

/// <summary>
/// How far reading through, comparing and the making of what is heard are, as it is written down while they run. The last file each of them opens waits until it was looked at; which that
/// is, a run before says.
/// </summary>
public sealed class HowFarTests
{
    [Fact]
    public async Task Reading_through_says_its_bytes_while_it_runs_and_nothing_of_it_is_left()
    {
        await using var bench = await SealBench.MakeAsync();
        var archive = await bench.SealedAsync(await bench.CheckedAsync("1.0.0", ("a.wav", new string('a', 300_000)), ("b.wav", new string('b', 200_000))));
        var row = await SeenAsync(bench, store => DigestAsync(bench, archive.Id, store), async () =>
        {
            await using var db = bench.Shelf.Open();
            await db.Archives.ExecuteUpdateAsync(s => s.SetProperty(a => a.Sha256, (string?)null));
        });
        Assert.Equal((ProgressNotes.Digest(archive.Id), 0, 0, archive.Length), (row.Name, row.Done, row.Total, row.TotalBytes));
        // All of the first file, and nothing yet of the second.
        Assert.InRange(row.DoneBytes, 300_000, archive.Length - 200_000);
    }

    [Fact]
    public async Task Comparing_says_how_many_recordings_were_listened_to_while_it_runs_and_nothing_of_it_is_left()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = (await WithRecordingsAsync(bench, "1.0.0", 220), await WithRecordingsAsync(bench, "1.1.0", 221));
        await bench.SealedAsync(first);
        var row = await SeenAsync(bench, store => CompareBench.CompareAsync(bench, next, first, store), async () =>
        {
            await using var db = bench.Shelf.Open();
            await db.ReleaseComparisons.ExecuteDeleteAsync();
        });
        Assert.Equal((ProgressNotes.Compare(next, first), 3, 0L, 0L), (row.Name, row.Total, row.DoneBytes, row.TotalBytes));
        Assert.InRange(row.Done, 1, 2);

        // Stopped while it runs, it ends without an outcome; nobody begins it again; it can be sealed, and be compared when she asks.
        CompareReleasesOutcome? ended = null;
        Assert.Contains("had ended", Assert.IsType<StopComparisonOutcome.NotRunning>(await StopAsync()).Message, StringComparison.Ordinal);
        await SeenAsync(bench, async store => ended = await CompareBench.CompareAsync(bench, next, first, store), async () =>
        {
            await using var own = bench.Shelf.Open();
            await own.ReleaseComparisons.ExecuteDeleteAsync();
        }, () => Assert.IsType<StopComparisonOutcome.Stopped>(StopAsync().GetAwaiter().GetResult()));
        Assert.IsType<CompareReleasesOutcome.NotWanted>(ended);
        var reading = (await CompareBench.ReadAsync(bench, next))!;
        Assert.Equal((null, null, false, null), (reading.Outcome, reading.Trouble, reading.IsAsked, reading.Far));
        Assert.NotNull(reading.StoppedAt);
        Assert.Contains("stopped before", Assert.IsType<StopComparisonOutcome.NotRunning>(await StopAsync()).Message, StringComparison.Ordinal);
        Assert.Empty(await CompareBench.UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareBench.CompareAsync(bench, next, first));
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(next));
        await using var db = bench.Shelf.Open();
        Assert.Equal(AskForComparisonOutcome.Asked, await new AskForComparison(db, bench.Shelf.Clock).RunAsync(next, first, CancellationToken.None));
        Assert.Equal([(next, first)], await CompareBench.UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareBench.CompareAsync(bench, next, first));
        Assert.Null((await CompareBench.ReadAsync(bench, next))!.StoppedAt);

        Task<StopComparisonOutcome> StopAsync() => CompareBench.StopAsync(bench, next, first);
    }

    [Fact]
    public async Task What_is_heard_says_how_many_sounds_are_made_and_can_be_put_off_and_made_after_all()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.OnShelfAsync("1.0.0");
        MakeListeningOutcome? made = null;
        async Task ForgetAsync()
        {
            await using var own = bench.Shelf.Open();
            await own.Listenings.ExecuteDeleteAsync();
            await own.ListeningFiles.ExecuteDeleteAsync();
        }
        var row = await SeenAsync(bench, async store => made = await bench.MakeAsync(id, store), ForgetAsync);
        Assert.Equal(ProgressNotes.Listen(id), row.Name);
        Assert.InRange(row.Done, 1, row.Total);
        Assert.IsType<MakeListeningOutcome.Made>(made);
        Assert.Equal(HoldListeningOutcome.NothingToStop, await HoldAsync(bench, id));

        // Not now: said while it runs, it ends without a set; nobody begins it again, however long it takes; the measurements stay.
        await ForgetAsync();
        await SeenAsync(bench, async store => made = await bench.MakeAsync(id, store), ForgetAsync, () => Assert.Equal(HoldListeningOutcome.Held, HoldAsync(bench, id).GetAwaiter().GetResult()));
        Assert.IsType<MakeListeningOutcome.NothingToDo>(made);
        Assert.Equal(HoldListeningOutcome.NothingToStop, await HoldAsync(bench, id));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(3));
        Assert.False((await bench.UnheardAsync()).IsAny);
        Assert.IsType<MakeListeningOutcome.NothingToDo>(await bench.MakeAsync(id));
        await using var db = bench.Shelf.Open();
        Assert.False(await db.Listenings.AnyAsync());
        Assert.NotNull((await new ReadSealing(db, bench.Shelf.Clock).RunAsync(id, CancellationToken.None))!.ListenHeldAt);
        Assert.True(await db.Measurements.AnyAsync());

        // A later version is another thing, and is made.
        var next = await bench.OnShelfAsync("1.1.0", 330);
        Assert.Equal([next], (await bench.UnheardAsync()).Releases);
        await bench.ChangeAsync(next, r => r.MoveTo(ReleaseState.Withdrawn, bench.Shelf.Clock.GetUtcNow()));

        Assert.True(await new GoOnListening(db).RunAsync(id, CancellationToken.None));
        Assert.False(await new GoOnListening(db).RunAsync(id, CancellationToken.None));
        Assert.Equal([id], (await bench.UnheardAsync()).Releases);
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id));
        Assert.Null((await new ReadSealing(db, bench.Shelf.Clock).RunAsync(id, CancellationToken.None))!.ListenHeldAt);
    }

    /// <summary>Runs it, forgets it, and runs it again; answers how far it said it was when it opened its last file.</summary>
    private static async Task<WorkProgress> SeenAsync(SealBench bench, Func<WatchedStore, Task> run, Func<Task> forget, Action? then = null)
    {
        // Measured in the first of these, so that the others open the same files.
        await run(new WatchedStore(bench.Store));
        await forget();
        var counted = new WatchedStore(bench.Store);
        await run(counted);
        await forget();
        WorkProgress? row = null;
        var (opened, watched) = (0, new WatchedStore(bench.Store));
        watched.Opening = _ =>
        {
            if (Interlocked.Increment(ref opened) != counted.Opened.Count)
                return;
            row = HowFarBench.WaitForRow(bench);
            then?.Invoke();
            bench.Shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        };
        await run(watched);
        await using var db = bench.Shelf.Open();
        Assert.Empty(await db.WorkProgress.ToListAsync());
        return row!;
    }

    private static async Task<DigestArchiveOutcome> DigestAsync(SealBench bench, long id, WatchedStore store)
    {
        await using var db = bench.Shelf.Open();
        return await new DigestArchive(db, store, bench.Shelf.Clock).RunAsync(id, CancellationToken.None);
    }

    /// <summary>Three recordings at the same places as in every other version, of other pitches, so that they have to be listened to.</summary>
    private static async Task<long> WithRecordingsAsync(SealBench bench, string number, double hz)
    {
        var id = await bench.CheckedAsync(number, ("Kettle.sfz", "<region> sample=a.wav key=60\n<region> sample=b.wav key=61\n<region> sample=c.wav key=62\n"));
        await using var db = bench.Shelf.Open();
        foreach (var (path, i) in new[] { "a.wav", "b.wav", "c.wav" }.Select((p, i) => (p, i)))
        {
            var file = await bench.FileAsync(db, path, HeardBench.Struck(hz * (i + 1)));
            file.ReleaseId = id;
            db.ReleaseFiles.Add(file);
        }
        await db.SaveChangesAsync();
        return id;
    }

    private static async Task<HoldListeningOutcome> HoldAsync(SealBench bench, long id)
    {
        await using var db = bench.Shelf.Open();
        return await new HoldListening(db, bench.Shelf.Clock).RunAsync(id, CancellationToken.None);
    }
}
