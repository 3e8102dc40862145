using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// A recording that is compared with several others: what all of these comparisons look at first is read and worked out once. Up to three
/// megabytes for each channel that is asked for, five where the others are of very different lengths, given back when it is disposed of; thread-safe.
/// </summary>
/// <param name="open">Gives its bytes; each stream is disposed of here.</param>
public sealed class HeardRecording(Func<Stream> open) : IDisposable
{
    private readonly Lock heard = new();
    private readonly Dictionary<int, Opening> openings = [];
    private Opening? loudest;
    private SampleFormat? format;

    internal Func<Stream> Open => open;

    /// <summary>In the channel with the greatest peak; null when it can't be read as a recording.</summary>
    internal (SampleFormat Format, Opening Opening)? Loudest(CancellationToken cancellationToken)
    {
        lock (heard)
        {
            if (loudest is null && Read(null, null, cancellationToken) is { } read)
                openings[read.Channel] = loudest = read;
            return loudest is null ? null : (format!, loudest);
        }
    }

    /// <summary>In one channel; null when it can't be read as a recording of as many channels at the same rate as <paramref name="like"/>.</summary>
    internal (SampleFormat Format, Opening Opening)? In(int channel, SampleFormat like, CancellationToken cancellationToken)
    {
        lock (heard)
        {
            if (!openings.TryGetValue(channel, out var opening) && Read(channel, like, cancellationToken) is { } read)
                opening = openings[channel] = read;
            return opening is not null && IsLike(like) ? (format!, opening) : null;
        }
    }

    /// <summary>No comparison may be under way with it, and none may follow.</summary>
    public void Dispose()
    {
        lock (heard)
        {
            foreach (var opening in openings.Values)
                opening.Dispose();
            openings.Clear();
            loudest = null;
        }
    }

    private bool IsLike(SampleFormat like) => format!.SampleRate == like.SampleRate && format.Channels == like.Channels;

    private Opening? Read(int? channel, SampleFormat? like, CancellationToken cancellationToken)
    {
        using var source = new Source(open);
        if (source.Open() is not { } reading)
            return null;
        format = reading.Format;
        return like is null || IsLike(like) ? Opening.Read(reading, channel, cancellationToken) : null;
    }
}
