using System.Text.Json;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// A comparison in short, so that a page with twenty versions need not read twenty thousand changes: how many there are of each kind and the
/// keys (MIDI 0 to 127, sorted) on which they can be heard, the proposed number, and bytes of the update archive and of the whole library's.
/// </summary>
public sealed record ChangeSummary(IReadOnlyList<ChangeSummary.Part> Parts, Bump Bump, string ProposedNumber, long UpdateBytes, long FullBytes)
{
    public sealed record Part(ChangeKind Kind, int Count, IReadOnlyList<int> Keys);

    public int Count(ChangeKind kind) => Parts.FirstOrDefault(p => p.Kind == kind)?.Count ?? 0;

    public IReadOnlyList<int> Keys(ChangeKind kind) => Parts.FirstOrDefault(p => p.Kind == kind)?.Keys ?? [];

    internal static ChangeSummary Of(CompareJson outcome) => new(
        [.. outcome.Changes.GroupBy(c => c.Kind).OrderBy(g => g.Key)
            .Select(g => new Part(g.Key, g.Count(), [.. g.SelectMany(c => c.Keys ?? []).Distinct().Order()]))],
        outcome.Proposed.Bump, outcome.Proposed.Number, outcome.Update.Bytes, outcome.Update.FullBytes);

    internal string Write() => JsonSerializer.Serialize(this);

    /// <summary>Null for "", which says that nothing was compared yet.</summary>
    public static ChangeSummary? Read(string json) => json.Length == 0 ? null : JsonSerializer.Deserialize<ChangeSummary>(json);
}
