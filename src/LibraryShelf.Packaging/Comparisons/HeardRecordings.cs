using LibraryShelf.Audio.Comparing;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// The recordings of one folder lately compared, those longest known let go first. Thread-safe, but for the end: what was let go may be under
/// comparison still, so only what is left then gives its room back.
/// </summary>
internal sealed class HeardRecordings(ComparedSide side) : IDisposable
{
    /// <summary>Of three megabytes each: four times the most that one is held against.</summary>
    private const int Most = 16;

    private readonly Lock known = new();
    private readonly Dictionary<string, HeardRecording> recordings = new(StringComparer.Ordinal);
    private readonly Queue<string> order = new();

    public HeardRecording Of(ComparedFile file)
    {
        lock (known)
        {
            if (recordings.TryGetValue(file.Path, out var recording))
                return recording;
            if (order.Count == Most)
                recordings.Remove(order.Dequeue());
            order.Enqueue(file.Path);
            return recordings[file.Path] = new HeardRecording(side.Opener(file));
        }
    }

    /// <summary>After the last comparison.</summary>
    public void Dispose()
    {
        foreach (var recording in recordings.Values)
            recording.Dispose();
    }
}
