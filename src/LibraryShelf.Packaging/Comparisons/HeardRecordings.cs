using LibraryShelf.Audio.Comparing;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>The recordings of one folder lately compared, those longest known let go first. Thread-safe.</summary>
internal sealed class HeardRecordings(ComparedSide side)
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
}
