using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Publishing;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>What stands in a planned drop comes out with it and by nothing else, and does not get lost from it.</summary>
public sealed class WaitsForItsDropTests
{
    [Theory]
    [InlineData(ReleaseState.Sealed)] // the job that schedules it has not run
    [InlineData(ReleaseState.Early)] // stays with chosen people
    [InlineData(ReleaseState.Scheduled)]
    public async Task It_is_not_published_by_hand_until_it_is_taken_out(ReleaseState state)
    {
        await using var bench = await MakeAsync();
        var kettle = await bench.NewAsync("Mended Kettle", state);
        await bench.DropAsync(December, TimeSpan.FromDays(6), kettle);
        Assert.Equal(PublishReleaseOutcome.WaitsForItsDrop, await PublishAsync());
        Assert.Equal(state, (await bench.ReadReleaseAsync(kettle)).State);

        await bench.WithAsync(db => new FillDrop(db, bench.Shelf.Clock).RunAsync(December, kettle, isIn: false, default));
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync());

        Task<PublishReleaseOutcome> PublishAsync() =>
            bench.WithAsync(db => new PublishRelease(db, bench.Shelf.Clock).RunAsync(kettle, Audience.Members, declares: false, null, default));
    }

    [Fact]
    public async Task A_draft_in_it_is_not_discarded_until_it_is_taken_out()
    {
        await using var bench = await MakeAsync();
        var draft = await bench.ReleaseAsync(await bench.LibraryAsync("Mended Kettle"), "1.0.0", ReleaseState.Draft);
        await bench.DropAsync(December, TimeSpan.FromDays(6), draft);
        Assert.Equal("Version 1.0.0 stands in the drop of December 2026. Take it out there first, then discard it.",
            Assert.Single(Assert.IsType<EditOutcome.Refused>(await DiscardAsync()).Refusals).Words);
        await bench.WithAsync(db => new FillDrop(db, bench.Shelf.Clock).RunAsync(December, draft, isIn: false, default));
        Assert.IsType<EditOutcome.Saved>(await DiscardAsync());

        Task<EditOutcome> DiscardAsync() => bench.WithAsync(db => new DiscardDraft(db, new UploadDesk(bench.Shelf.Paths)).RunAsync(draft, default));
    }
}
