namespace LibraryShelf.Core.Downloads;

/// <summary>
/// What one link has handed over and what its running answers may still hand over. Thread-safe; shared by all answers to the link.
/// </summary>
/// <param name="length">Of the archive, bytes.</param>
/// <param name="most">How many times that the link hands over: <see cref="Shared.LinkSettings.MostDownloads"/>.</param>
/// <param name="handedOver">What its events add up to so far, bytes.</param>
/// <param name="events">How many they are.</param>
public sealed class LinkUse(long length, int most, long handedOver = 0, int events = 0)
{
    /// <summary>
    /// Every answer is written down, however few bytes it had, so answers need a bound beside that of bytes. No program fetches in smaller pieces than
    /// this from beginning to end.
    /// </summary>
    public const long SmallestPiece = 64 * 1024;

    /// <summary>Events a link may have beyond those: answers broken off, resumes, looks at the archive's end.</summary>
    public const int OddEvents = 2_000;

    /// <summary>
    /// How many times the archive's length the answers running at once may promise. Programs that fetch in segments ask with up to 16
    /// connections for "from n to the end" each and break off where the next segment begins; twice that is plenty.
    /// </summary>
    public const int MostAtOnce = 32;

    private readonly Lock _lock = new();
    private long _handedOver = handedOver;
    private long _events = events;
    private long _promised;
    private int _running;

    internal bool IsIdle { get { lock (_lock) return _running == 0; } }

    /// <summary>
    /// Whether the link opens no more. It does while less than the most has been handed over, so that no answer is ever cut to
    /// fit: in all a link hands over less than the most, and what is running then (at most <see cref="MostAtOnce"/> lengths). Nor does it
    /// once that many pieces of <see cref="SmallestPiece"/>, and <see cref="OddEvents"/>, were written down.
    /// </summary>
    internal bool IsUsedUp { get { lock (_lock) return IsSpent; } }

    private bool IsSpent => _handedOver >= Times(most) || _events >= OddEvents + (Times(most) / SmallestPiece);

    /// <summary>An answer of <paramref name="bytes"/> is about to run; <see cref="End"/> must follow.</summary>
    /// <returns>What is against it; null: it may run.</returns>
    public LinkTrouble? TryBegin(long bytes)
    {
        lock (_lock)
        {
            if (IsSpent) return LinkTrouble.UsedUp;
            if (_running > 0 && _promised + bytes > Times(MostAtOnce)) return LinkTrouble.TooManyAtOnce;
            _promised += bytes;
            _running++;
            return null;
        }
    }

    /// <summary>Bytes were handed over just now.</summary>
    public void Add(long bytes) { lock (_lock) _handedOver += bytes; }

    /// <summary>One more event is written down.</summary>
    public void AddEvent() { lock (_lock) _events++; }

    /// <summary>An answer begun with <paramref name="bytes"/> has ended, whole or broken off.</summary>
    public void End(long bytes) { lock (_lock) (_promised, _running) = (_promised - bytes, _running - 1); }

    private long Times(int times) => length > long.MaxValue / times ? long.MaxValue : length * times;
}
