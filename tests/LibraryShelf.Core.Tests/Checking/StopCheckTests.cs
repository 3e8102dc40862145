using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Checking.CheckBench;

namespace LibraryShelf.Core.Tests.Checking;

/// <summary>A check that its maker stops: what was measured is kept, and the folder is a draft without a sheet.</summary>
public sealed class StopCheckTests
{
    [Fact]
    public async Task What_was_measured_is_kept_and_the_next_check_measures_only_the_others()
    {
        await using var bench = await MakeAsync();
        // More than can be measured before what was measured first is written: fifty wait for that at most.
        var id = await bench.DraftAsync("1.0.0", [.. Enumerable.Range(1, 120).Select(i => ($"{i}.wav", Wav((short)i, 900, -900)))]);
        await bench.AskAsync(id);
        var (isStopped, gate) = (false, new Lock());
        bench.Store.Opening = _ =>
        {
            bench.Shelf.Clock.Advance(TimeSpan.FromSeconds(1));
            // Nobody measures on while it is stopped.
            lock (gate)
            {
                if (isStopped || bench.Store.Opened.Count < 10)
                    return;
                isStopped = true;
                Assert.IsType<StopCheckOutcome.Stopped>(bench.StopAsync(id).GetAwaiter().GetResult());
            }
        };
        Assert.IsType<CheckReleaseOutcome.CalledOff>(await bench.RunAsync(id));
        Assert.True(isStopped);

        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Draft, null, 120), (release.State, release.CheckAskedAt, release.CheckTotal));
        Assert.Contains("You stopped the check of 1.0.0.", release.Trouble, StringComparison.Ordinal);
        Assert.Contains(release.CheckDone == 0 ? "Nothing was measured yet." : $"{release.CheckDone} of 120 recordings", release.Trouble, StringComparison.Ordinal);
        Assert.Empty(await bench.SheetAsync(id));
        await using var db = bench.Open();
        var measured = await db.Measurements.CountAsync();
        // At least what it said.
        Assert.InRange(measured, release.CheckDone, 119);

        // Nothing is woken by a wish that is gone.
        Assert.IsType<CheckReleaseOutcome.NothingToDo>(await bench.RunAsync(id));
        var before = bench.Store.Opened.Count;
        bench.Store.Opening = _ => { };
        await bench.CheckAsync(id);
        Assert.Equal(120 - measured, bench.Store.Opened.Count - before);
        Assert.Null((await bench.ReleaseAsync(id)).Trouble);
    }

    [Fact]
    public async Task One_that_waits_is_taken_back_and_one_that_ended_stays_ended()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2, 3)));
        Assert.IsType<StopCheckOutcome.NotRunning>(await bench.StopAsync(id));
        await bench.AskAsync(id);
        Assert.IsType<StopCheckOutcome.Stopped>(await bench.StopAsync(id));
        Assert.Contains("Nothing was measured yet.", (await bench.ReleaseAsync(id)).Trouble, StringComparison.Ordinal);
        Assert.True((await bench.ReleaseAsync(id)).WasStopped);
        Assert.IsType<CheckReleaseOutcome.NothingToDo>(await bench.RunAsync(id));

        await bench.CheckAsync(id);
        Assert.Contains("had ended before", Assert.IsType<StopCheckOutcome.NotRunning>(await bench.StopAsync(id)).Message, StringComparison.Ordinal);
        Assert.Equal((ReleaseState.Checked, null, false), ((await bench.ReleaseAsync(id)).State, (await bench.ReleaseAsync(id)).Trouble, (await bench.ReleaseAsync(id)).WasStopped));
        Assert.IsType<StopCheckOutcome.NoSuchRelease>(await bench.StopAsync(id + 1));
    }

    [Theory]
    [InlineData(0, 0, "Nothing was measured yet. The folder")]
    [InlineData(0, 3, "Nothing was measured yet. The folder")]
    [InlineData(1, 1, "Its one recording is measured, and that is kept. The folder")]
    [InlineData(1, 3, "1 of 3 recordings is measured, and that is kept: the next check measures only the others. The folder")]
    [InlineData(2, 3, "2 of 3 recordings are measured, and that is kept: the next check measures only the others. The folder")]
    [InlineData(3, 3, "All 3 recordings are measured, and that is kept. The folder")]
    public async Task It_says_how_much_is_kept(int done, int all, string words)
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2, 3)));
        await bench.AskAsync(id);
        await using (var db = bench.Open())
            await db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.CheckDone, done).SetProperty(r => r.CheckTotal, all));
        Assert.IsType<StopCheckOutcome.Stopped>(await bench.StopAsync(id));
        Assert.StartsWith("You stopped the check of 1.0.0. " + words, (await bench.ReleaseAsync(id)).Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Stopped_while_it_is_judged_no_sheet_is_written()
    {
        await using var bench = await MakeAsync();
        var sfz = Text("<region> sample=A3.wav key=57");
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2, 3)), ("Jar.sfz", sfz));
        await bench.AskAsync(id);
        // The mapping is read when everything is measured.
        bench.Store.Opening = hash =>
        {
            if (hash == Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(sfz)))
                bench.StopAsync(id).GetAwaiter().GetResult();
        };
        Assert.IsType<CheckReleaseOutcome.FolderChanged>(await bench.RunAsync(id));
        Assert.Empty(await bench.SheetAsync(id));
        Assert.Contains("Its one recording is measured", (await bench.ReleaseAsync(id)).Trouble, StringComparison.Ordinal);
    }
}
