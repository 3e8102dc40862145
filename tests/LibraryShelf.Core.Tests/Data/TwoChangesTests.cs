using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>Another change comes between a verb's reading and its writing: an outcome, never a fault.</summary>
public sealed class TwoChangesTests
{
    private static readonly ReleaseWords Words = new("Notes.", "CC0-1.0", "", "", [new("Rushlight", "5")]);

    /// <summary>PublishRelease is none of them: it holds the writer from its first read.</summary>
    public static TheoryData<string> Verbs() =>
        ["EditRelease", "RenumberRelease", "EditLibrary", "DecideAudience", "AskForSeal", "StartRelease"];

    [Theory, MemberData(nameof(Verbs))]
    public async Task Met_once_it_looks_again_and_does_it_and_met_each_time_it_says_so(string verb)
    {
        foreach (var (meetings, isDone) in new[] { (1, true), (2, true), (3, false) })
        {
            await using var bench = await SealBench.MakeAsync();
            await bench.SealedAsync(await bench.CheckedAsync("1.0.0", ("a.wav", "a")));
            var openId = verb == "StartRelease" ? 0 : await bench.CheckedAsync("1.1.0", ("a.wav", "a"));
            await using var db = bench.Shelf.Open();
            Meet(db, meetings, () => MoveOnAsync(bench));
            var outcome = await RunAsync(verb, db, bench, openId);
            var done = outcome.ToString()!.Split(' ')[0];
            string[] well = ["Saved", "Decided", "Asked", "Started"];
            Assert.True(isDone ? well.Contains(done) : done == "ChangedMeanwhile", $"{verb}, met {meetings} times: {outcome}");
        }
    }

    [Fact]
    public async Task A_name_taken_at_the_same_moment_is_refused_with_words()
    {
        await using var bench = await SealBench.MakeAsync();
        await using var db = bench.Shelf.Open();
        Meet(db, 1, async () =>
        {
            await using var other = bench.Shelf.Open();
            await new AddLibrary(other, bench.Shelf.Clock).RunAsync(new LibraryWords("Jars"), "jars", CancellationToken.None);
        });
        var refused = Assert.IsType<AddLibraryOutcome.Refused>(
            await new AddLibrary(db, bench.Shelf.Clock).RunAsync(new LibraryWords("Other jars"), "jars", CancellationToken.None));
        Assert.Contains("“Jars” already has the address jars", Assert.Single(refused.Refusals).Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_number_taken_at_the_same_moment_is_refused_with_words()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0");
        await using var db = bench.Shelf.Open();
        Meet(db, 1, async () => await bench.CheckedAsync("2.0.0"));
        var refused = Assert.IsType<EditOutcome.Refused>(await new RenumberRelease(db).RunAsync(id, "2.0.0", null, CancellationToken.None));
        Assert.Equal("Number", Assert.Single(refused.Refusals).Field);
    }

    [Fact]
    public async Task Two_starts_at_the_same_moment_make_one_draft_and_the_later_hears_of_it()
    {
        await using var bench = await SealBench.MakeAsync();
        await using var db = bench.Shelf.Open();
        Meet(db, 1, async () =>
        {
            await using var other = bench.Shelf.Open();
            Assert.IsType<StartReleaseOutcome.Started>(await new StartRelease(other, bench.Shelf.Clock).RunAsync("kettle", null, CancellationToken.None));
        });
        Assert.Equal("1.0.0", Assert.IsType<StartReleaseOutcome.AlreadyOpen>(
            await new StartRelease(db, bench.Shelf.Clock).RunAsync("kettle", null, CancellationToken.None)).Number);
    }

    [Fact]
    public async Task A_finding_that_went_at_the_same_moment_is_no_longer_there()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        var entry = await bench.MustFixAsync(id);
        await using var db = bench.Shelf.Open();
        Meet(db, 1, async () =>
        {
            await using var other = bench.Shelf.Open();
            await other.SheetEntries.ExecuteDeleteAsync();
        });
        Assert.IsType<ExcuseFindingOutcome.NoSuchFinding>(await new ExcuseFinding(db, bench.Shelf.Clock).RunAsync(id, entry, "Meant so.", CancellationToken.None));
    }

    [Fact]
    public async Task Words_saved_from_another_form_are_not_overwritten_unseen_but_a_check_in_between_is_no_such_thing()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0");
        string opened;
        await using (var db = bench.Shelf.Open())
            opened = ReleaseWords.Of(await db.Releases.Include(r => r.Players).SingleAsync()).Mark();
        await bench.ChangeAsync(id, r => r.Revision++);
        var mine = Words with { FilledFrom = opened };
        Assert.IsType<EditOutcome.Saved>(await EditAsync(mine));
        Assert.IsType<EditOutcome.Saved>(await EditAsync(mine));
        var others = Words with { Notes = "Other notes.", FilledFrom = opened };
        Assert.IsType<EditOutcome.ChangedMeanwhile>(await EditAsync(others));
        Assert.Equal("Notes.", (await bench.ReleaseAsync(id)).Notes);
        Assert.IsType<EditOutcome.Saved>(await EditAsync(others with { FilledFrom = Words.Mark() }));

        async Task<EditOutcome> EditAsync(ReleaseWords words)
        {
            await using var db = bench.Shelf.Open();
            return await new EditRelease(db).RunAsync(id, words, CancellationToken.None);
        }
    }

    private static async Task<object> RunAsync(string verb, ShelfDb db, SealBench bench, long openId) => verb switch
    {
        "EditRelease" => await new EditRelease(db).RunAsync(openId, Words, CancellationToken.None),
        "RenumberRelease" => await new RenumberRelease(db).RunAsync(openId, "3.0.0", null, CancellationToken.None),
        "EditLibrary" => await new EditLibrary(db, bench.Shelf.Clock).RunAsync("kettle", new LibraryWords("Other Title"), CancellationToken.None),
        "DecideAudience" => await new DecideAudience(db, bench.Shelf.Clock).RunAsync("kettle", Audience.Members, CancellationToken.None),
        "AskForSeal" => await new AskForSeal(db, bench.Shelf.Clock).RunAsync(openId, null, declares: false, CancellationToken.None),
        _ => await new StartRelease(db, bench.Shelf.Clock).RunAsync("kettle", "3.0.0", CancellationToken.None),
    };

    /// <summary>As another request that commits first.</summary>
    private static async Task MoveOnAsync(SealBench bench)
    {
        await using var other = bench.Shelf.Open();
        await other.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.Revision, r => r.Revision + 1));
        await other.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.Revision, l => l.Revision + 1));
    }

    /// <summary>Lets <paramref name="change"/> commit after the verb has read and before it writes, the first so many times.</summary>
    private static void Meet(ShelfDb db, int times, Func<Task> change) => db.SavingChanges += (_, _) =>
    {
        if (times-- > 0)
            Task.Run(change).GetAwaiter().GetResult();
    };
}
