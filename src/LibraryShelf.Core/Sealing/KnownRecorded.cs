using System.Collections.Concurrent;

namespace LibraryShelf.Core.Sealing;

/// <summary>How sealed versions were recorded, by their ids, in memory: what is sealed never changes. Some hundred bytes each; thread-safe.</summary>
public sealed class KnownRecorded
{
    /// <summary>More than one shelf's boxes.</summary>
    private const int Most = 10_000;

    private readonly ConcurrentDictionary<long, Recorded> known = new();

    internal Recorded? Of(long releaseId) => known.GetValueOrDefault(releaseId);

    /// <summary>When it is full everything goes: what is looked at now is soon known again.</summary>
    internal void Keep(long releaseId, Recorded recorded)
    {
        if (known.Count >= Most)
            known.Clear();
        known[releaseId] = recorded;
    }
}
