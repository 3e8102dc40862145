namespace LibraryShelf.Core.Downloads;

/// <summary>One answer of a download that has its turn. Not thread-safe; answers of one download each have their own.</summary>
public sealed class DownloadTurn : IDisposable
{
    private readonly DownloadTurns turns;
    private readonly SharedLine? line;
    private readonly TimeProvider clock;
    private RunningDownload? of;

    /// <param name="turns">Hears of the end.</param>
    /// <param name="of">Whose; null: an answer so small that it takes no turn.</param>
    /// <param name="line">The line it shares; null: as fast as it goes.</param>
    /// <param name="clock">For the waiting.</param>
    internal DownloadTurn(DownloadTurns turns, RunningDownload? of, SharedLine? line, TimeProvider clock) =>
        (this.turns, this.of, this.line, this.clock) = (turns, of, line, clock);

    /// <summary>Pieces have to be small then, for they go out one after the other with everybody else's.</summary>
    public bool IsPaced => of is not null && line is not null;

    /// <summary>Returns when these bytes may go out. Answers of one download wait for each other: more connections give no larger share.</summary>
    public async ValueTask PaceAsync(int bytes, CancellationToken cancellationToken)
    {
        if (of is null || line is null)
            return;
        await of.Gate.WaitAsync(cancellationToken);
        try
        {
            if (line.Take(bytes) is var wait && wait > TimeSpan.Zero)
                await Task.Delay(wait, clock, cancellationToken);
        }
        finally
        {
            of.Gate.Release();
        }
    }

    /// <summary>The archive's end has gone out, or nothing will: once its answers are over, the turn is the next one's at once.</summary>
    public void Finish()
    {
        if (of is not null)
            of.IsFinished = true;
    }

    public void Dispose()
    {
        if (of is not null)
            turns.End(of);
        of = null;
    }
}

/// <summary>A download that has its turn, with however many answers.</summary>
internal sealed class RunningDownload(string id)
{
    public string Id => id;

    /// <summary>One piece of the line at a time.</summary>
    public SemaphoreSlim Gate { get; } = new(1, 1);

    public int Answers { get; set; }

    /// <summary>When the last answer broke off; null while one runs.</summary>
    public DateTimeOffset? LeftAt { get; set; }

    public bool IsFinished { get; set; }
}
