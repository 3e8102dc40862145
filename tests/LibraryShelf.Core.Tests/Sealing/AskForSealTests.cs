using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class AskForSealTests
{
    [Fact]
    public async Task A_checked_release_with_its_words_may_be_sealed()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(id, Audience.Members));
        Assert.IsType<AskForSealOutcome.AlreadyAsked>(await bench.AskAsync(id));

        var release = await bench.ReleaseAsync(id);
        Assert.Equal((bench.Shelf.Clock.GetUtcNow(), Audience.Members), (release.SealAskedAt, release.PublishAfterSealFor));
    }

    [Fact]
    public async Task Every_reason_that_holds_it_up_is_said_at_once()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.MustFixAsync(id);
        await bench.MustFixAsync(id);
        await bench.ChangeAsync(id, r => { r.Players.Clear(); r.LicenceSpdx = null; r.MoveTo(ReleaseState.Draft, r.CreatedAt); });

        var reasons = Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(id)).Reasons;
        Assert.Equal(4, reasons.Count);
        Assert.Contains(reasons, r => r.Contains("not been checked since it last changed", StringComparison.Ordinal));
        Assert.Contains(reasons, r => r.Contains("2 must-fix entries", StringComparison.Ordinal));
        Assert.Contains(reasons, r => r.Contains("at least one player", StringComparison.Ordinal));
        Assert.Contains(reasons, r => r.Contains("licence", StringComparison.Ordinal));
        Assert.Null((await bench.ReleaseAsync(id)).SealAskedAt);
    }

    [Fact]
    public async Task An_excused_finding_does_not_hold_it_up()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.MustFixAsync(id, excuse: "The kettle is like that.");
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(id));
    }

    [Fact]
    public async Task An_empty_folder_and_a_file_on_its_way_are_said()
    {
        await using var bench = await SealBench.MakeAsync();
        var empty = await bench.CheckedAsync("1.0.0");
        Assert.Contains("empty", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(empty)).Reasons), StringComparison.Ordinal);

        var waiting = await bench.CheckedAsync("1.1.0", ("a.wav", "a"));
        await using (var db = bench.Shelf.Open())
            await db.Blobs.ExecuteDeleteAsync();
        Assert.Contains("on its way", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(waiting)).Reasons), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_shops_licence_is_enough()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.ChangeAsync(id, r => r.LicenceSpdx = null);
        Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(id));
        await using (var db = bench.Shelf.Open())
        {
            db.Shops.Add(new Shop { Licence = "For music, not for resale.", LicenceInShort = "Sing with it." });
            await db.SaveChangesAsync();
        }
        await bench.SealedAsync(id);
        Assert.Equal(("For music, not for resale.", "Sing with it."), Licence(await bench.ReleaseAsync(id)));
        await using (var db = bench.Shelf.Open())
            id = Assert.IsType<StartReleaseOutcome.Started>(await new StartRelease(db, bench.Shelf.Clock).RunAsync("kettle", null, CancellationToken.None)).ReleaseId;
        Assert.Equal(("For music, not for resale.", "Sing with it."), Licence(await bench.ReleaseAsync(id)));

        static (string, string) Licence(Release release) => (release.LicenceText, release.LicenceInShort);
    }

    [Fact]
    public async Task An_unknown_release_is_said_so()
    {
        await using var bench = await SealBench.MakeAsync();
        Assert.IsType<AskForSealOutcome.NoSuchRelease>(await bench.AskAsync(99));
    }
}
