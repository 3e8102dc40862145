using Microsoft.Extensions.Logging;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Moves events from the queue to the database, in batches at most <see cref="Gather"/> apart, until the queue is closed and
/// empty. A batch the database refuses is tried again; the queue waits behind it.
/// </summary>
/// <param name="queue">Where the events come from.</param>
/// <param name="write">Writes one batch durably: <see cref="RecordEvents"/> on a fresh database.</param>
/// <param name="written">Called after each written batch; must not throw.</param>
/// <param name="clock">For the gathering and the pauses.</param>
/// <param name="log">Hears of refusals.</param>
public sealed class EventWriter(
    EventQueue queue, Func<IReadOnlyList<DownloadEvent>, Task> write, Action written, TimeProvider clock, ILogger log)
{
    public static readonly TimeSpan Gather = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan RetryPause = TimeSpan.FromSeconds(1);
    /// <summary>Keeps the writing transaction short; what is left goes into the next batch at once.</summary>
    internal const int MaxBatch = 1_000;
    private const int LastTries = 3;

    /// <param name="hurry">The host is going down: no more gathering, and a refusing database is tried a few times only.</param>
    public async Task DrainAsync(CancellationToken hurry)
    {
        while (await queue.Reader.WaitToReadAsync(CancellationToken.None))
        {
            if (queue.Reader.Count < MaxBatch) await PauseAsync(Gather, hurry);
            var batch = new List<DownloadEvent>();
            while (batch.Count < MaxBatch && queue.Reader.TryRead(out var one)) batch.Add(one);
            await WriteAsync(batch, hurry);
        }
    }

    private async Task WriteAsync(List<DownloadEvent> batch, CancellationToken hurry)
    {
        for (var tries = 1; ; tries++)
        {
            try
            {
                await write(batch);
                written();
                return;
            }
#pragma warning disable CA1031 // Whatever the database says, the queue must go on.
            catch (Exception refusal)
#pragma warning restore CA1031
            {
                if (hurry.IsCancellationRequested && tries >= LastTries)
                {
                    log.LogError(refusal, "{Count} download events were not written before the end; resumed downloads prove them again", batch.Count);
                    return;
                }
                log.LogWarning(refusal, "{Count} download events could not be written yet; trying again", batch.Count);
                await PauseAsync(RetryPause, hurry);
            }
        }
    }

    private async Task PauseAsync(TimeSpan pause, CancellationToken hurry)
    {
        if (hurry.IsCancellationRequested || queue.Reader.Completion.IsCompleted) return;
        try { await Task.Delay(pause, clock, hurry); }
        catch (OperationCanceledException) { /* in a hurry: go on at once */ }
    }
}
