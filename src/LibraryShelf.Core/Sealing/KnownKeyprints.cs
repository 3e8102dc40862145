using System.Collections.Concurrent;
using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Core.Sealing;

/// <summary>Keyprints of sealed versions by their ids, in memory: what is sealed never changes, so nothing here becomes wrong. Some tens of kilobytes each; thread-safe.</summary>
public sealed class KnownKeyprints
{
    /// <summary>More than one shelf's boxes.</summary>
    private const int Most = 1_000;

    private readonly ConcurrentDictionary<long, Keyprint> _known = new();

    internal Keyprint? Of(long releaseId) => _known.GetValueOrDefault(releaseId);

    /// <summary>When it is full everything goes: what is looked at now is soon known again.</summary>
    internal void Keep(long releaseId, Keyprint print)
    {
        if (_known.Count >= Most)
            _known.Clear();
        _known[releaseId] = print;
    }
}
