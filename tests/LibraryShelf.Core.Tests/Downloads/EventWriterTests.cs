using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class EventWriterTests
{
    [Fact]
    public async Task Everything_queued_is_written_in_order_before_the_writer_ends()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var queue = new EventQueue(shelf.Clock);
        var batches = new List<int>();
        for (var i = 0; i < 2_500; i++) Assert.True(queue.TryAdd("d", i, i + 1));
        queue.Close();
        var writer = new EventWriter(queue, WriteAsync, () => { }, TimeProvider.System, NullLogger.Instance);
        await writer.DrainAsync(CancellationToken.None);

        await using var db = shelf.Open();
        Assert.Equal(Enumerable.Range(0, 2_500).Select(i => (long)i), await db.DownloadEvents.OrderBy(e => e.Id).Select(e => e.From).ToListAsync());
        Assert.Equal([1_000, 1_000, 500], batches);
        Assert.False(queue.TryAdd("d", 0, 1));

        async Task WriteAsync(IReadOnlyList<DownloadEvent> batch)
        {
            batches.Add(batch.Count);
            await using var fresh = shelf.Open();
            await new RecordEvents(fresh).RunAsync(batch, default);
        }
    }

    [Fact]
    public async Task Events_of_twenty_milliseconds_go_together_and_each_batch_wakes_the_count()
    {
        var clock = new Microsoft.Extensions.Time.Testing.FakeTimeProvider();
        var queue = new EventQueue(clock);
        var (written, woken) = (new List<int>(), new SemaphoreSlim(0));
        var writer = new EventWriter(queue, batch => { written.Add(batch.Count); return Task.CompletedTask; }, () => woken.Release(), clock, NullLogger.Instance);
        queue.TryAdd("d", 0, 1);
        var run = writer.DrainAsync(CancellationToken.None);
        queue.TryAdd("d", 1, 2);
        Assert.Empty(written);
        clock.Advance(EventWriter.Gather);
        await woken.WaitAsync();
        Assert.Equal([2], written);
        queue.Close();
        await run;
    }

    [Fact]
    public async Task A_batch_the_database_refuses_is_tried_again()
    {
        var queue = new EventQueue(TimeProvider.System);
        queue.TryAdd("d", 0, 9);
        queue.Close();
        var tries = 0;
        var writer = new EventWriter(queue, batch => ++tries == 1 ? throw new IOException("disk full") : Task.CompletedTask, () => { }, TimeProvider.System, NullLogger.Instance);
        using var hurry = new CancellationTokenSource();
        await hurry.CancelAsync();
        await writer.DrainAsync(hurry.Token);
        Assert.Equal(2, tries);
    }

    [Fact]
    public async Task A_host_going_down_does_not_wait_for_a_dead_database()
    {
        var queue = new EventQueue(TimeProvider.System);
        queue.TryAdd("d", 0, 9);
        queue.Close();
        var writer = new EventWriter(queue, _ => throw new IOException("gone"), () => { }, TimeProvider.System, NullLogger.Instance);
        using var hurry = new CancellationTokenSource();
        await hurry.CancelAsync();
        await writer.DrainAsync(hurry.Token);
    }

    [Fact]
    public void A_full_queue_refuses_the_newest_and_an_empty_stretch_is_no_event()
    {
        var queue = new EventQueue(TimeProvider.System);
        for (var i = 0; i < EventQueue.Capacity; i++) Assert.True(queue.TryAdd("d", i, i + 1));
        Assert.False(queue.TryAdd("d", 0, 1));
        Assert.True(queue.TryAdd("d", 5, 5));
    }

    [Fact]
    public void What_does_not_fit_is_counted_as_lost_once()
    {
        var queue = new EventQueue(TimeProvider.System);
        for (var i = 0; i < EventQueue.Capacity; i++) Assert.True(queue.TryAdd("d", i, i + 1));
        Assert.False(queue.TryAdd("d", 0, 1));
        Assert.False(queue.TryAdd("d", 0, 1));
        Assert.True(queue.TryAdd("d", 5, 5)); // nothing to lose
        Assert.Equal((2L, 0L), (queue.TakeLost(), queue.TakeLost()));
    }
}
