namespace LibraryShelf.Core.Downloads;

/// <summary>
/// The line that all downloads share, as a token bucket: pieces go out one after the other, each for as long as its bytes take. Who asks for one
/// piece at a time goes round with the others, so that all share alike, and what one on a slow line leaves is the others'.
/// Thread-safe.
/// </summary>
internal sealed class SharedLine(long bytesPerSecond, TimeProvider clock)
{
    /// <summary>What an idle or late moment leaves to be caught up with, so that timers which wake late don't slow the line.</summary>
    private static readonly TimeSpan CatchUp = TimeSpan.FromMilliseconds(50);

    private readonly Lock door = new();
    private readonly long begun = clock.GetTimestamp();
    private TimeSpan freeAt;

    public long BytesPerSecond => bytesPerSecond;

    /// <summary>The next piece of the line is the asker's.</summary>
    /// <returns>How long to wait before these bytes go out; zero or less: not at all.</returns>
    public TimeSpan Take(long bytes)
    {
        var now = clock.GetElapsedTime(begun);
        lock (door)
        {
            var from = freeAt > now - CatchUp ? freeAt : now - CatchUp;
            freeAt = from + TimeSpan.FromSeconds((double)bytes / bytesPerSecond);
            return from - now;
        }
    }
}
