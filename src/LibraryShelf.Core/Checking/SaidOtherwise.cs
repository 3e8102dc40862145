using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Checking;

/// <summary>A finding is said in the shelf's language, and a later program may say it in other words; the numbers and the names of files and notes in it stay.</summary>
internal static partial class SaidOtherwise
{
    /// <summary>What of a sentence every language has, in no order: "b.wav 2" of "Line 2 asks for b.wav." Signs within numbers are left out, as languages write them differently.</summary>
    public static string FactsOf(string message) =>
        string.Join(' ', Piece().Matches(WithinNumber().Replace(message, "")).Select(p => p.Value.Trim('.')).Where(p => Fact().IsMatch(p)).Order(StringComparer.Ordinal));

    [GeneratedRegex(@"[^\s,;:!?()\[\]""“”„‟«»‹›]+", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Piece();

    [GeneratedRegex(@"(?<=[0-9])[.,'’\u00a0\u202f](?=[0-9])", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex WithinNumber();

    [GeneratedRegex(@"[0-9]|[^.][./_][^.]", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Fact();
}
