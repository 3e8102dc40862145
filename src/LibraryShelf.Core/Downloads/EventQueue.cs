using System.Threading.Channels;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Events on their way to the database, in order. Bounded: when the database stands still for long, the newest events are
/// refused rather than downloads stopped; a resumed download proves them again.
/// </summary>
public sealed class EventQueue(TimeProvider clock)
{
    /// <summary>About a megabyte of memory, and minutes of a busy day.</summary>
    public const int Capacity = 10_000;

    private readonly Channel<DownloadEvent> _events = Channel.CreateBounded<DownloadEvent>(
        new BoundedChannelOptions(Capacity) { SingleReader = true, FullMode = BoundedChannelFullMode.Wait });

    private int _answers;
    private long _lost;

    /// <summary>No answer is under way that could still add something.</summary>
    public bool IsQuiet => Answers == 0;

    /// <summary>Answers with bytes that are under way.</summary>
    public int Answers => Volatile.Read(ref _answers);

    /// <summary>Events not handed to the database yet.</summary>
    public int Waiting => _events.Reader.Count;

    /// <summary>An answer begins that will add what it hands over; <see cref="AnswerEnds"/> says that it added its last.</summary>
    public void AnswerBegins() => Interlocked.Increment(ref _answers);

    public void AnswerEnds() => Interlocked.Decrement(ref _answers);

    internal ChannelReader<DownloadEvent> Reader => _events.Reader;

    /// <summary>
    /// Bytes [<paramref name="from"/>, <paramref name="to"/>) were handed over just now, or, as <paramref name="isEvidence"/>, are
    /// proved to have arrived before. <paramref name="beginsAnswer"/>: they are an answer's first.
    /// </summary>
    /// <returns>False when the queue is full or closed and the event is lost.</returns>
    public bool TryAdd(string downloadId, long from, long to, bool isEvidence = false, bool beginsAnswer = false)
    {
        if (to <= from || _events.Writer.TryWrite(new DownloadEvent { DownloadId = downloadId, From = from, To = to, IsEvidence = isEvidence, BeginsAnswer = beginsAnswer, At = clock.GetUtcNow() }))
            return true;
        Interlocked.Increment(ref _lost);
        return false;
    }

    /// <summary>How many were lost since this was asked last.</summary>
    public long TakeLost() => Interlocked.Exchange(ref _lost, 0);

    /// <summary>They could not be told of yet.</summary>
    public void GiveBackLost(long lost) => Interlocked.Add(ref _lost, lost);

    /// <summary>Nothing more will come; the writer ends once it has written what is there.</summary>
    public void Close() => _events.Writer.TryComplete();
}
