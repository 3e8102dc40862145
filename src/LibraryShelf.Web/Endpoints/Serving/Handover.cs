using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Setup.Metering;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// Keeps account of the bytes of one answer as they are handed over, and queues events: one for every stretch of
/// <see cref="Stretch"/>, so that a kill costs the count of a long download little, and one for what is left at its end.
/// </summary>
internal sealed class Handover(EventQueue queue, string downloadId, LinkUse use, ILogger log, ShelfMeter? meter = null) : IDisposable
{
    public const long Stretch = 16L << 20;

    private long _promised;
    private bool _hasBegun;
    private bool _hasQueued;
    private long _from;
    private long _to;

    /// <summary>An answer of this many bytes is about to run; it is over when this is disposed of.</summary>
    /// <returns>What is against it; null: it may run.</returns>
    public LinkTrouble? TryBegin(long bytes)
    {
        if (use.TryBegin(bytes) is { } trouble) return trouble;
        (_promised, _hasBegun) = (bytes, true);
        queue.AnswerBegins();
        return null;
    }

    /// <summary>Bytes were handed over that follow the last ones or start a new range.</summary>
    public void Add(long from, long count)
    {
        use.Add(count);
        meter?.HandedOver(count);
        if (from != _to) Finish();
        if (_from == _to) _from = _to = from;
        _to += count;
        if (_to - _from >= Stretch) Finish();
    }

    /// <summary>The client says it holds [0, <paramref name="to"/>) and knows our entity tag.</summary>
    public void AddEvidence(long to) => Queue(0, to, isEvidence: true);

    /// <summary>Queues what has not been queued; nothing when there is nothing.</summary>
    public void Finish()
    {
        Queue(_from, _to);
        _from = _to;
    }

    public void Dispose()
    {
        Finish();
        if (_hasBegun)
        {
            use.End(_promised);
            queue.AnswerEnds();
        }
        _hasBegun = false;
    }

    private void Queue(long from, long to, bool isEvidence = false)
    {
        if (to <= from)
            return;
        use.AddEvent();
        var begins = !isEvidence && !_hasQueued;
        _hasQueued |= begins;
        if (!queue.TryAdd(downloadId, from, to, isEvidence, begins))
            log.LogWarning("A download event was not kept: the queue to the database is full. The download goes on uncounted");
    }
}
