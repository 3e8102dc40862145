namespace LibraryShelf.Web.Jobs;

/// <summary>
/// One at a time for each two versions: sealing asks for the comparison that the check has woken already, and twice the work at once would
/// take both longer.
/// </summary>
public sealed class ComparisonTurns
{
    private readonly Dictionary<(long, long), Turn> turns = [];

    /// <returns>To be disposed of when the comparing is over.</returns>
    public async Task<IDisposable> TakeAsync((long ReleaseId, long FromReleaseId) pair, CancellationToken cancellationToken)
    {
        Turn turn;
        lock (turns)
        {
            turn = turns.TryGetValue(pair, out var known) ? known : turns[pair] = new Turn(this, pair);
            turn.Wanted++;
        }
        try
        {
            await turn.Door.WaitAsync(cancellationToken);
            return turn;
        }
        catch (OperationCanceledException)
        {
            Forget(turn);
            throw;
        }
    }

    private void Forget(Turn turn)
    {
        lock (turns)
            if (--turn.Wanted == 0)
                turns.Remove(turn.Pair);
    }

    private sealed class Turn(ComparisonTurns turns, (long, long) pair) : IDisposable
    {
        public SemaphoreSlim Door { get; } = new(1, 1);

        public (long, long) Pair => pair;

        /// <summary>By how many, whoever runs among them.</summary>
        public int Wanted { get; set; }

        public void Dispose()
        {
            Door.Release();
            turns.Forget(this);
        }
    }
}
