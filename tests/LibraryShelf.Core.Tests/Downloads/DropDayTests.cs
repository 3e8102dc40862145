using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Downloads;

/// <summary>
/// The day of a drop on a clock of its own: 2,000 members want 1.7 GB each over 1 Gbit/s. That is 3.4 TB, 27,200 s, 7.6 hours however it is
/// shared; a quarter of the members sit on lines below the least share. Nothing waits: each step is put off to its instant.
/// </summary>
public sealed class DropDayTests
{
    private const int Members = 2_000;
    private const long Library = 1_700_000_000, Line = 125_000_000, LeastShare = 500_000;
    private const int MostAtOnce = (int)(Line / LeastShare), Piece = 32_000_000, Seed = 20261201;

    /// <summary>A slow member's own line, bytes a second, below the least share.</summary>
    private const double Slow = 400_000;

    private readonly FakeTimeProvider clock = new(new DateTimeOffset(2026, 12, 1, 9, 0, 0, TimeSpan.Zero));
    private readonly PriorityQueue<Member, DateTimeOffset> next = new();
    private readonly SortedSet<int> waiting = [];
    private readonly Dictionary<int, long> bytesByHour = [];
    private int running;

    [Fact]
    public void Everybody_gets_their_turn_in_order_and_the_line_is_full_but_never_more()
    {
        var turns = new DownloadTurns(Options.Create(new ShelfSettings { Bandwidth = new() { TotalBytesPerSecond = Line, LeastShare = LeastShare } }), clock);
        var line = new SharedLine(Line, clock);
        var (start, random, finished) = (clock.GetUtcNow(), new Random(Seed), 0);
        foreach (var (at, i) in Enumerable.Range(0, Members).Select(_ => random.NextDouble() * 300).Order().Select((at, i) => (at, i)))
            next.Enqueue(new Member(i, IsSlow: i % 4 == 0), start.AddSeconds(at));
        while (next.TryDequeue(out var member, out var now))
        {
            clock.SetUtcNow(now);
            if (member.Turn is null)
                Ask(turns, member, now);
            else if (Send(line, member, now))
                finished++;
        }
        Assert.Equal(Members, finished);
        var seconds = (clock.GetUtcNow() - start).TotalSeconds;
        Assert.InRange(seconds, 0.95 * 27_200, 1.05 * 27_200 + 2 * Library / Slow); // the last may be slow ones, alone with a line of their own
        Assert.All(bytesByHour.Values, bytes => Assert.InRange(bytes, 0, (long)(1.001 * 3600 * Line)));
        // The hours in which somebody waits are full.
        Assert.All(Enumerable.Range(0, 6), hour => Assert.InRange(bytesByHour[hour], (long)(0.95 * 3600 * Line), (long)(1.001 * 3600 * Line)));
    }

    private void Ask(DownloadTurns turns, Member member, DateTimeOffset now)
    {
        // As the page does: first look, then begin.
        if (turns.Ask($"{member.Number}", Library) is TurnOutcome.Waits waits)
        {
            waiting.Add(member.Number);
            next.Enqueue(member, now + waits.AskAgain);
            return;
        }
        member.Turn = Assert.IsType<TurnOutcome.Runs>(turns.Begin($"{member.Number}", Library, resumes: false)).Turn;
        waiting.Remove(member.Number);
        // Whoever came earlier and still waits has been called, and has only not looked again yet.
        Assert.InRange(waiting.GetViewBetween(0, member.Number).Count, 0, MostAtOnce - running - 1);
        running++;
        next.Enqueue(member, now);
    }

    /// <returns>True when that was all.</returns>
    private bool Send(SharedLine line, Member member, DateTimeOffset now)
    {
        if (member.Left == 0)
        {
            member.Turn!.Finish();
            member.Turn.Dispose();
            running--;
            return true;
        }
        var bytes = Math.Min(Piece, member.Left);
        member.Left -= bytes;
        var wait = line.Take(bytes);
        var goes = wait > TimeSpan.Zero ? now + wait : now;
        var hour = (int)(goes - new DateTimeOffset(2026, 12, 1, 9, 0, 0, TimeSpan.Zero)).TotalHours;
        bytesByHour[hour] = bytesByHour.GetValueOrDefault(hour) + bytes;
        next.Enqueue(member, goes.AddSeconds(member.IsSlow ? bytes / Slow : 0));
        return false;
    }

    private sealed record Member(int Number, bool IsSlow)
    {
        public DownloadTurn? Turn { get; set; }

        public long Left { get; set; } = Library;
    }
}
