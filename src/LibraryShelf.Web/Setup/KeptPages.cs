namespace LibraryShelf.Web.Setup;

/// <summary>A page as it goes out: compressed, with its entity tag; <paramref name="Stamp"/> says what it was made from.</summary>
internal sealed record KeptPage(string Stamp, DateTimeOffset MadeAt, byte[] Body, string Tag);

/// <summary>
/// Pages in memory, and who makes one anew: of those who want the same page one makes it, and the others wait for that, or take the one of a moment ago. Nobody waits for another
/// page, nor for a client that reads slowly. Thread-safe.
/// </summary>
internal sealed class KeptPages(TimeProvider clock)
{
    /// <summary>When there are more, or more bytes, everything goes.</summary>
    internal const int Most = 200, MostBytes = 32 << 20;

    /// <summary>How old a page may be; and how old while another is made in its place.</summary>
    internal static readonly TimeSpan Fresh = TimeSpan.FromMinutes(1), Passable = TimeSpan.FromMinutes(2);

    private readonly Lock _lock = new();
    private readonly Dictionary<string, KeptPage> _kept = new(StringComparer.Ordinal);
    private readonly Dictionary<string, TaskCompletionSource> _turns = new(StringComparer.Ordinal);
    private long _bytes;

    /// <summary>Null: there is none that may be given out now.</summary>
    public KeptPage? Find(string key, string stamp)
    {
        lock (_lock)
        {
            var age = _kept.TryGetValue(key, out var page) && page.Stamp == stamp ? clock.GetUtcNow() - page.MadeAt : TimeSpan.MaxValue;
            return age < Fresh || (age < Passable && _turns.ContainsKey(key)) ? page : null;
        }
    }

    /// <param name="key">Says which page.</param>
    /// <param name="others">Done when the turn of another, who makes the page now, is over.</param>
    /// <returns>It is the caller's turn to make the page, and to <see cref="End"/>.</returns>
    public bool TryBegin(string key, out Task others)
    {
        lock (_lock)
        {
            others = Task.CompletedTask;
            if (_turns.TryGetValue(key, out var turn))
            {
                others = turn.Task;
                return false;
            }
            _turns.Add(key, new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously));
            return true;
        }
    }

    /// <summary>Ends the caller's turn; null: nothing came of it, and whoever waits may try.</summary>
    public void End(string key, KeptPage? made)
    {
        lock (_lock)
        {
            if (made is not null)
                Keep(key, made);
            _turns.Remove(key, out var turn);
            turn!.SetResult();
        }
    }

    private void Keep(string key, KeptPage page)
    {
        if (_kept.Remove(key, out var before))
            _bytes -= before.Body.Length;
        if (_kept.Count >= Most || _bytes + page.Body.Length > MostBytes)
        {
            _kept.Clear();
            _bytes = 0;
        }
        _kept.Add(key, page);
        _bytes += page.Body.Length;
    }
}
