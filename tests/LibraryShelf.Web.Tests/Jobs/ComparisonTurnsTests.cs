using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Tests.Jobs;

public sealed class ComparisonTurnsTests
{
    private readonly ComparisonTurns turns = new();

    [Fact]
    public async Task The_same_two_wait_for_each_other_and_others_do_not()
    {
        var first = await turns.TakeAsync((2, 1), default);
        var second = turns.TakeAsync((2, 1), default);
        using var other = await turns.TakeAsync((3, 1), default);
        Assert.False(second.IsCompleted);
        first.Dispose();
        (await second.WaitAsync(TimeSpan.FromSeconds(30))).Dispose();
    }

    [Fact]
    public async Task Who_gives_up_waiting_leaves_the_turn_to_the_next()
    {
        var first = await turns.TakeAsync((2, 1), default);
        using var patience = new CancellationTokenSource();
        var givesUp = turns.TakeAsync((2, 1), patience.Token);
        var waits = turns.TakeAsync((2, 1), default);
        await patience.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => givesUp);
        first.Dispose();
        (await waits.WaitAsync(TimeSpan.FromSeconds(30))).Dispose();
    }
}
