using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Intake;
using LibraryShelf.Core.Tests.Sealing;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Comparing.CompareBench;

namespace LibraryShelf.Core.Tests.Comparing;

/// <summary>A comparison holds for what both versions were when it was made, and for nothing else.</summary>
public sealed class StaleComparisonTests
{
    [Fact]
    public async Task What_came_of_a_folder_that_was_sent_anew_meanwhile_is_not_kept()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        var store = new RefusingStore(bench.Store) { BeforeOpen = () => ResendAsync(bench, next, [("a.wav", "no sound")]) };
        Assert.IsType<CompareReleasesOutcome.FolderChanged>(await CompareAsync(bench, next, first, store));
        Assert.Null((await ReadAsync(bench, next))!.Outcome);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));
        Assert.Equal(Bump.Major, (await ReadAsync(bench, next))!.Outcome!.Proposed.Bump);
        Assert.Empty(await UncomparedAsync(bench));
    }

    [Fact]
    public async Task A_job_that_ends_late_leaves_what_a_newer_one_kept()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        var store = new RefusingStore(bench.Store)
        {
            BeforeOpen = async () =>
            {
                await ResendAsync(bench, next, [("a.wav", "no sound")]);
                Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));
            },
        };
        Assert.IsType<CompareReleasesOutcome.FolderChanged>(await CompareAsync(bench, next, first, store));
        Assert.Equal(Bump.Major, (await ReadAsync(bench, next))!.Outcome!.Proposed.Bump);
    }

    [Fact]
    public async Task Of_a_folder_sent_anew_the_clock_says_nothing()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await CompareAsync(bench, next, first);
        await ResendAsync(bench, next, [.. More, ("c.wav", "nor here")]);
        Assert.Null((await ReadAsync(bench, next))!.Outcome);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        // The same folder again is what was compared.
        await ResendAsync(bench, next, More);
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync(bench, next, first));
        Assert.NotNull((await ReadAsync(bench, next))!.Outcome);
        Assert.Empty(await UncomparedAsync(bench));
    }

    [Fact]
    public async Task A_wish_that_comes_while_a_comparison_runs_stands_when_it_ends()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await AskAsync();
        var store = new RefusingStore(bench.Store)
        {
            BeforeOpen = () =>
            {
                bench.Shelf.Clock.Advance(TimeSpan.FromMilliseconds(1));
                return AskAsync();
            },
        };
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first, store));
        Assert.True((await ReadAsync(bench, next))!.IsAsked);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));
        Assert.False((await ReadAsync(bench, next))!.IsAsked);

        async Task AskAsync()
        {
            await using var db = bench.Shelf.Open();
            Assert.Equal(AskForComparisonOutcome.Asked, await new AskForComparison(db, bench.Shelf.Clock).RunAsync(next, first, CancellationToken.None));
        }
    }

    [Fact]
    public async Task A_stop_holds_for_the_two_folders_as_they_are_and_leaves_what_was_found_before()
    {
        await using var bench = await SealBench.MakeAsync();
        var first = await SealedAsync(bench, "1.0.0");
        Assert.IsType<StopComparisonOutcome.NoSuchPair>(await StopAsync(bench, first + 1, first));
        var next = await bench.CheckedAsync("1.1.0", More);
        // Before its turn has come: the folders are not even marked.
        Assert.IsType<StopComparisonOutcome.Stopped>(await StopAsync(bench, next, first));
        Assert.Empty(await UncomparedAsync(bench));
        await ResendAsync(bench, next, [.. More, ("c.wav", "nor here")]);
        Assert.Null((await ReadAsync(bench, next))!.StoppedAt);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));

        // Another generation begins to compare anew: stopped, the older outcome stays and nobody goes on.
        await using (var db = bench.Shelf.Open())
            await db.ReleaseComparisons.ExecuteUpdateAsync(r => r.SetProperty(c => c.Generation, c => c.Generation - 1));
        Assert.IsType<StopComparisonOutcome.Stopped>(await StopAsync(bench, next, first));
        Assert.Empty(await UncomparedAsync(bench));
        var reading = (await ReadAsync(bench, next))!;
        Assert.NotNull(reading.Outcome);
        Assert.NotNull(reading.StoppedAt);

        // A draft is compared with nothing, nor are two that nobody asked about.
        Assert.Contains("Nothing was being compared", Assert.IsType<StopComparisonOutcome.NotRunning>(await StopAsync(bench, first, next)).Message, StringComparison.Ordinal);
        await bench.ChangeAsync(next, r => r.MoveTo(ReleaseState.Draft, bench.Shelf.Clock.GetUtcNow()));
        Assert.IsType<StopComparisonOutcome.NotRunning>(await StopAsync(bench, next, first));
    }

    [Fact]
    public async Task A_later_generation_of_the_comparing_code_compares_all_anew_and_shows_the_older_outcome_until_then()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, second) = await TwoAsync(bench, More);
        await CompareAsync(bench, second, first);
        await RenumberAsync(bench, second, "1.1.0", null);
        await bench.SealedAsync(second);
        var third = await bench.CheckedAsync("1.1.1", More);
        await CompareAsync(bench, third, second);
        Assert.Empty(await UncomparedAsync(bench));
        await using (var db = bench.Shelf.Open())
            await db.ReleaseComparisons.ExecuteUpdateAsync(r => r.SetProperty(c => c.Generation, c => c.Generation - 1));
        Assert.Equal([(third, second), (second, first)], await UncomparedAsync(bench));
        Assert.NotNull((await ReadAsync(bench, second))!.Outcome);
        foreach (var (id, fromId) in await UncomparedAsync(bench))
            Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, id, fromId));
        Assert.Empty(await UncomparedAsync(bench));
    }

    [Fact]
    public async Task What_nobody_expected_is_said_once_and_does_not_keep_a_version_from_being_sealed()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        var store = new RefusingStore(bench.Store) { BeforeOpen = () => throw new InvalidOperationException("A fault of the program.") };
        var stopped = Assert.IsType<CompareReleasesOutcome.Stopped>(await CompareAsync(bench, next, first, store));
        Assert.IsType<InvalidOperationException>(stopped.Fault);
        Assert.Equal(
            "Mended Kettle 1.1.0 could not be compared with 1.0.0: the shelf met something in them that it did not expect. Both versions are kept as they are, "
            + "and it can be sealed without; no number is proposed then. Compare again; if it stops again, look at the shelf’s disk and its log.", stopped.Reason);
        Assert.Equal(stopped.Reason, (await ReadAsync(bench, next))!.Trouble);
        Assert.Empty(await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync(bench, next, first));
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(next));
        Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(next));
        // The next folder may do.
        Assert.Empty(await UncomparedAsync(bench));
    }

    [Fact]
    public async Task An_ending_program_is_no_trouble()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        using var ending = new CancellationTokenSource();
        var store = new RefusingStore(bench.Store) { BeforeOpen = ending.CancelAsync };
        await using var db = bench.Shelf.Open();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => new CompareReleases(db, store, bench.Shelf.Clock).RunAsync(next, first, ending.Token));
        Assert.Null((await ReadAsync(bench, next))!.Trouble);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
    }

    [Fact]
    public async Task A_file_that_is_not_in_the_store_is_said_and_not_looked_for_each_minute()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await using (var db = bench.Shelf.Open())
            await db.Blobs.Where(b => db.ReleaseFiles.Any(f => f.Path == "b.wav" && f.Sha256 == b.Sha256)).ExecuteDeleteAsync();
        Assert.Contains("not in the shelf’s store", Assert.IsType<CompareReleasesOutcome.Stopped>(await CompareAsync(bench, next, first)).Reason, StringComparison.Ordinal);
        Assert.Empty(await UncomparedAsync(bench));
    }
}
