using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Endpoints.Serving;
using Microsoft.Extensions.Logging.Abstractions;

namespace LibraryShelf.Web.Tests.Endpoints.Serving;

public sealed class HandoverTests
{
    private static async Task<List<(long, long)>> EventsAsync(Action<Handover> use)
    {
        var queue = new EventQueue(TimeProvider.System);
        using (var handover = new Handover(queue, "d", new LinkUse(long.MaxValue, 1), NullLogger.Instance)) use(handover);
        queue.Close();
        var events = new List<(long, long)>();
        await new EventWriter(queue, batch => { events.AddRange(batch.Select(e => (e.From, e.To))); return Task.CompletedTask; },
            () => { }, TimeProvider.System, NullLogger.Instance).DrainAsync(CancellationToken.None);
        return events;
    }

    [Fact]
    public async Task Neighbouring_pieces_are_one_event() =>
        Assert.Equal([(100L, 130L)], await EventsAsync(h => { h.Add(100, 10); h.Add(110, 20); h.Finish(); h.Finish(); }));

    [Fact]
    public async Task A_new_range_is_a_new_event() =>
        Assert.Equal([(100L, 110L), (0L, 5L), (7L, 8L)], await EventsAsync(h => { h.Add(100, 10); h.Add(0, 5); h.Add(7, 1); h.Finish(); }));

    [Fact]
    public async Task A_long_download_is_written_stretch_by_stretch()
    {
        const long mebibyte = 1 << 20;
        var events = await EventsAsync(h => { for (var i = 0; i < 40; i++) h.Add(i * mebibyte, mebibyte); h.Finish(); });
        Assert.Equal([(0, Handover.Stretch), (Handover.Stretch, 2 * Handover.Stretch), (2 * Handover.Stretch, 40 * mebibyte)], events);
    }

    [Fact]
    public async Task Nothing_handed_over_is_no_event() => Assert.Empty(await EventsAsync(h => h.Finish()));
}
