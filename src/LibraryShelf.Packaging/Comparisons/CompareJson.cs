using System.Text.Json.Serialization;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// A comparison in the shape "libraryshelf/compare/1": what `shelf compare --json` prints, what the shelf keeps and its page offers.
/// Properties that say nothing are left out.
/// </summary>
public sealed record CompareJson(
    string Schema, IReadOnlyList<CompareJson.ChangePart> Changes, CompareJson.ProposedPart Proposed, CompareJson.UpdatePart Update)
{
    public const string SchemaName = "libraryshelf/compare/1";

    /// <summary>As <see cref="Change"/>; keys are MIDI notes.</summary>
    public sealed record ChangePart(
        ChangeKind Kind,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Path,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? From,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] double? GainDb,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] IReadOnlyList<int>? Keys,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Words,
        [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Articulation);

    public sealed record ProposedPart(Bump Bump, string Number, IReadOnlyList<string> Because);

    /// <summary>Bytes of the update archive, and of the whole library's.</summary>
    public sealed record UpdatePart(long Bytes, long FullBytes);

    public static CompareJson Of(Comparison comparison, UpdatePart update)
    {
        ArgumentNullException.ThrowIfNull(comparison);
        return new CompareJson(
            SchemaName,
            [.. comparison.Changes.Select(c => new ChangePart(
                c.Kind, c.Path, c.From, c.GainDb, c.Keys.Count > 0 ? c.Keys : null, Said(c.Words), Said(c.Articulation)))],
            new ProposedPart(comparison.Proposed.Bump, comparison.Proposed.Number, comparison.Proposed.Because),
            update);
    }

    /// <summary>The comparison again, as it was before it was written down.</summary>
    public Comparison ToComparison() => new(
        [.. Changes.Select(c => new Change(c.Kind, c.Path, c.From, c.GainDb, c.Keys ?? []) { Words = c.Words ?? "", Articulation = c.Articulation ?? "" })],
        new ProposedNumber(Proposed.Bump, Proposed.Number, Proposed.Because));

    private static string? Said(string words) => words.Length > 0 ? words : null;
}
