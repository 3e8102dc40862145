using System.Text.Json;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// A version held against another, as its page tells it. <paramref name="From"/>: null when it is its library's first.
/// <paramref name="Outcome"/>: null until compared. <paramref name="Drafted"/>: what changed in Markdown, "" without an outcome.
/// <paramref name="NumberReason"/>: why the version's number is held up; null when it is not.
/// </summary>
public sealed record ComparisonReading(
    NumberedRelease? From, IReadOnlyList<NumberedRelease> Others, CompareJson? Outcome, ChangeSummary? Summary, string Drafted, bool IsAsked, string? Trouble, string? NumberReason)
{
    /// <summary>How far the comparing is that runs now, in recordings; null: none runs, or it has only just begun.</summary>
    public Data.Progress? Far { get; init; }

    /// <summary>The maker stopped it then, and nothing came of it since; null: she did not. With an <see cref="Outcome"/>: that is of an earlier comparing of the same two.</summary>
    public DateTimeOffset? StoppedAt { get; init; }

    internal static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);
}
