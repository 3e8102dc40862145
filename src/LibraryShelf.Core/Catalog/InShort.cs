namespace LibraryShelf.Core.Catalog;

/// <summary>
/// What a maker's own licence comes to, in her own plain words: where the shelf says it of licences it knows (<see cref="Licence.Plain"/>).
/// One line of plain text. It lies in no archive, and what holds is the licence's text.
/// </summary>
public static class InShort
{
    /// <summary>The longest of <see cref="Licences.Offered"/> fits.</summary>
    public const int MaxLength = 400;

    internal static string Tidy(string? text) => string.Join(' ', (text ?? "").Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    /// <summary>What is wrong with a (tidied) line; null when nothing is.</summary>
    internal static string? Refuse(string line, string licence) => line.Length > MaxLength
        ? T($"The licence in short has {line.Length} characters; {MaxLength} is the most. Shorten it by {line.Length - MaxLength}.")
        : line.Length > 0 && string.IsNullOrWhiteSpace(licence) ? T("There is no text for this to stand beside. Write the licence’s text too, or empty this.") : null;

    /// <summary>Another text was written and the line was left as it was for the one before: it may promise what the text does not.</summary>
    internal static bool IsOfOtherText(string line, string licence, string lineBefore, string licenceBefore) =>
        line.Length > 0 && line == lineBefore && Plain(licence) != Plain(licenceBefore);

    internal static string Reminder => T("The licence was changed and its line in short was not: read whether it still fits.");

    private static string Plain(string text) => text.ReplaceLineEndings("\n").Trim();
}
