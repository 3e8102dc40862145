using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class DownloadTurnsTests
{
    private const long Library = 1_700_000_000;
    private readonly FakeTimeProvider clock = new(new DateTimeOffset(2026, 12, 1, 9, 0, 0, TimeSpan.Zero));

    [Fact]
    public void Without_limits_nobody_is_asked()
    {
        Assert.False(Turns(new()).IsLimited);
        Assert.True(Turns(new() { MostAtOnce = 1 }).IsLimited);
        Assert.True(Turns(new() { TotalBytesPerSecond = 1_000_000 }).IsLimited);
    }

    [Theory]
    [InlineData(0, 3, 0, 3)]
    [InlineData(10_000_000, 0, 2_500_000, 4)] // a fifth would have 2,000,000
    [InlineData(10_000_000, 3, 2_500_000, 3)]
    [InlineData(10_000_000, 9, 2_500_000, 4)]
    [InlineData(10_000_000, 0, 10_000_000, 1)]
    public void As_many_run_as_the_number_and_the_least_share_allow(long total, int mostAtOnce, long least, int run)
    {
        var turns = Turns(new() { TotalBytesPerSecond = total, MostAtOnce = mostAtOnce, LeastShare = least });
        for (var i = 0; i < run; i++)
            Runs(turns, $"runs {i}");
        Assert.Equal(1, Waits(turns, "waits").Place);
        Assert.Equal(2, Waits(turns, "too").Place);
        Assert.Equal(1, Waits(turns, "waits").Place);
    }

    [Fact]
    public void A_second_connection_of_a_download_takes_no_other_turn_and_little_bytes_none()
    {
        var turns = Turns(new() { MostAtOnce = 1 });
        var (one, other) = (Runs(turns, "a"), Runs(turns, "a"));
        Waits(turns, "b");
        Assert.IsType<TurnOutcome.Runs>(turns.Begin("c", DownloadTurns.Small - 1, resumes: false));
        End(one);
        Waits(turns, "b");
        End(other);
        Runs(turns, "b");
    }

    [Fact]
    public void A_turn_passes_on_in_order_and_is_kept_for_who_comes_back_in_time()
    {
        var turns = Turns(new() { MostAtOnce = 1 });
        var first = Runs(turns, "a");
        Waits(turns, "b");
        Waits(turns, "c");
        End(first);
        // Free, but b's.
        Assert.Equal(1, Waits(turns, "c").Place);
        Assert.Equal(new TurnOutcome.MayBegin(HasBegun: false), turns.Ask("b", Library));
        var second = Runs(turns, "b");
        Assert.Equal(new TurnOutcome.MayBegin(HasBegun: true), turns.Ask("b", Library));
        End(second);
        clock.Advance(DownloadTurns.BeginWithin - TimeSpan.FromSeconds(1));
        Waits(turns, "d");
        // c did not come.
        clock.Advance(TimeSpan.FromSeconds(2));
        Runs(turns, "d");
    }

    [Fact]
    public void A_place_not_asked_for_is_let_go()
    {
        var turns = Turns(new() { MostAtOnce = 1 });
        using var runs = Runs(turns, "a");
        Waits(turns, "b");
        clock.Advance(TimeSpan.FromMinutes(3));
        Assert.Equal(2, Waits(turns, "c").Place);
        Assert.True(turns.Holds("b"));
        clock.Advance(TimeSpan.FromMinutes(3));
        Assert.Equal(1, Waits(turns, "c").Place);
        Assert.False(turns.Holds("b"));
        Assert.Equal(2, Waits(turns, "b").Place);
    }

    [Fact]
    public void Who_was_cut_off_keeps_the_turn_for_a_minute_and_then_comes_before_newcomers()
    {
        var turns = Turns(new() { MostAtOnce = 1 });
        Runs(turns, "a").Dispose();
        Waits(turns, "b");
        var again = Runs(turns, "a");
        again.Dispose();
        clock.Advance(DownloadTurns.Pause + TimeSpan.FromSeconds(1));
        Waits(turns, "c"); // b is called
        var second = Runs(turns, "b");
        Assert.Equal(1, Waits(turns, "a").Place);
        Assert.Equal(2, Waits(turns, "c").Place);
        // After a restart only the request itself can tell.
        Assert.Equal(2, Assert.IsType<TurnOutcome.Waits>(turns.Begin("from before the restart", Library, resumes: true)).Place);
        End(second);
        End(Runs(turns, "a"));
        // Done is done.
        Assert.IsType<TurnOutcome.Runs>(turns.Begin("from before the restart", Library, resumes: true));
        Assert.Equal(2, Waits(turns, "a").Place);
    }

    [Fact]
    public void How_long_it_takes_is_told_by_the_line_and_then_by_the_turns_that_ended()
    {
        var turns = Turns(new() { TotalBytesPerSecond = 1_700_000, MostAtOnce = 1 });
        var runs = Runs(turns, "0");
        Waits(turns, "1");
        Assert.Equal(TimeSpan.FromSeconds(2_000), Waits(turns, "2").About); // two times 1.7 GB at 1.7 MB/s
        for (var i = 1; i <= 4; i++)
        {
            clock.Advance(TimeSpan.FromSeconds(60));
            End(runs);
            runs = Runs(turns, $"{i}");
        }
        clock.Advance(TimeSpan.FromSeconds(60));
        Waits(turns, "x");
        Assert.Equal(TimeSpan.FromSeconds(120), Waits(turns, "y").About); // one a minute
        Assert.Null(Assert.IsType<TurnOutcome.Waits>(Full(new() { MostAtOnce = 1 }).Begin("z", Library, resumes: false)).About);
    }

    [Fact]
    public async Task More_connections_give_no_larger_share()
    {
        const int piece = 64 * 1024;
        var turns = Turns(new() { TotalBytesPerSecond = piece });
        using var first = Runs(turns, "a");
        using var second = Runs(turns, "a");
        using var other = Runs(turns, "b");
        await first.PaceAsync(piece, default); // up to now the line was free
        var (next, more, ofOther) = (first.PaceAsync(piece, default).AsTask(), second.PaceAsync(piece, default).AsTask(), other.PaceAsync(piece, default).AsTask());
        clock.Advance(TimeSpan.FromSeconds(2));
        await Task.WhenAll(next, ofOther).WaitAsync(TimeSpan.FromSeconds(30));
        Assert.False(more.IsCompleted);
        clock.Advance(TimeSpan.FromSeconds(5));
        await more.WaitAsync(TimeSpan.FromSeconds(30));
    }

    private DownloadTurns Turns(BandwidthSettings bandwidth) => new(Options.Create(new ShelfSettings { Bandwidth = bandwidth }), clock);

    private DownloadTurns Full(BandwidthSettings bandwidth)
    {
        var turns = Turns(bandwidth);
        Runs(turns, "somebody");
        return turns;
    }

    private static DownloadTurn Runs(DownloadTurns turns, string id) => Assert.IsType<TurnOutcome.Runs>(turns.Begin(id, Library, resumes: false)).Turn;

    private static TurnOutcome.Waits Waits(DownloadTurns turns, string id) => Assert.IsType<TurnOutcome.Waits>(turns.Begin(id, Library, resumes: false));

    private static void End(DownloadTurn turn)
    {
        turn.Finish();
        turn.Dispose();
    }
}
