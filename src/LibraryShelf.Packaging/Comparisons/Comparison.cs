using System.Text.Json.Serialization;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>In the order in which a comparison tells them; the words are those of its JSON.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<ChangeKind>))]
public enum ChangeKind
{
    [JsonStringEnumMemberName("added")] Added,
    [JsonStringEnumMemberName("removed")] Removed,
    [JsonStringEnumMemberName("moved")] Moved,
    [JsonStringEnumMemberName("re-recorded")] ReRecorded,
    [JsonStringEnumMemberName("level")] Level,
    [JsonStringEnumMemberName("trimmed")] Trimmed,
    [JsonStringEnumMemberName("retagged")] Retagged,
    [JsonStringEnumMemberName("remapped")] Remapped,
    [JsonStringEnumMemberName("requirement")] Requirement,
}

/// <summary>
/// One thing that differs. <paramref name="Path"/> is where it lies in the newer folder (a removed file: in the older one; null for a
/// requirement), <paramref name="From"/> where it lay in the older one when that is elsewhere; <paramref name="GainDb"/> how much louder the
/// same recording is now; <paramref name="Keys"/> the MIDI keys 0 to 127 on which it can be heard, sorted, empty when there are none.
/// </summary>
public sealed record Change(ChangeKind Kind, string? Path, string? From, double? GainDb, IReadOnlyList<int> Keys)
{
    /// <summary>What a remapping or a requirement comes to, a short sentence; "" for the others, whose kind says all.</summary>
    public string Words { get; init; } = "";

    /// <summary>Way of playing, "" for the one unnamed.</summary>
    public string Articulation { get; init; } = "";
}

/// <summary>How far a number moves, by SemVer 2.0.0's three parts.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<Bump>))]
public enum Bump
{
    [JsonStringEnumMemberName("none")] None,
    [JsonStringEnumMemberName("patch")] Patch,
    [JsonStringEnumMemberName("minor")] Minor,
    [JsonStringEnumMemberName("major")] Major,
}

/// <summary>The number that the rule of docs/versions.md proposes for the newer folder, and a sentence for each reason, the weightiest first.</summary>
public sealed record ProposedNumber(Bump Bump, string Number, IReadOnlyList<string> Because);

/// <summary>What two folders come to: changes in ordinal order of kind, then path.</summary>
public sealed record Comparison(IReadOnlyList<Change> Changes, ProposedNumber Proposed);
