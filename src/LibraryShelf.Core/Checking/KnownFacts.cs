using System.Collections.Concurrent;
using LibraryShelf.Audio;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// Facts of recordings lately asked for, by content hash: reading them from their JSON takes longer than anything else of a check or a comparison in which little
/// changed. They are those of <see cref="RecordingFacts.CurrentGeneration"/> and of these bytes for good, so nothing here ever becomes wrong. A few kilobytes each;
/// thread-safe.
/// </summary>
public sealed class KnownFacts
{
    /// <summary>The recordings of a large library or of several small ones.</summary>
    internal const int Most = 2_500;

    private readonly ConcurrentDictionary<string, RecordingFacts> known = new(StringComparer.Ordinal);

    internal RecordingFacts? Of(string sha256) => known.GetValueOrDefault(sha256);

    /// <summary>When it is full everything goes: what is worked with now is soon known again.</summary>
    internal void Keep(string sha256, RecordingFacts facts)
    {
        if (known.Count >= Most)
            known.Clear();
        known[sha256] = facts;
    }
}
