using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Letters;

/// <summary>
/// What the maker wrote in Markdown, for a mail's plain text: the marks that only a page shows are taken off, words and their order stay, and a link keeps
/// its address. Not a whole reader of Markdown: what it does not know stands as it was typed, which is readable too.
/// </summary>
internal static partial class NoteText
{
    public static string Of(string markdown)
    {
        var text = Picture().Replace(markdown.ReplaceLineEndings("\n").Trim(), "${words}");
        text = Link().Replace(text, m => m.Groups["words"].Value == m.Groups["to"].Value ? m.Groups["to"].Value : $"{m.Groups["words"].Value} ({m.Groups["to"].Value})");
        text = Heading().Replace(text, "${words}");
        text = Item().Replace(text, "- ");
        text = Strong().Replace(text, "${words}");
        // "-- " alone on a line would begin the signature (RFC 3676 §4.3).
        return Rule().Replace(Emphasis().Replace(text, "${words}"), "");
    }

    [GeneratedRegex(@"!\[(?<words>[^\]\n]*)\]\([^)\n]*\)", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Picture();

    [GeneratedRegex(@"\[(?<words>[^\]\n]+)\]\((?<to>[^)\s]+)\)", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Link();

    [GeneratedRegex(@"^#{1,6}[ \t]+(?<words>.*?)[ \t]*#*$", RegexOptions.Multiline | RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Heading();

    [GeneratedRegex(@"^[ \t]*[*+-][ \t]+(?=\S)", RegexOptions.Multiline | RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Item();

    [GeneratedRegex(@"(?<mark>\*\*|__)(?=\S)(?<words>.+?)(?<=\S)\k<mark>", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Strong();

    [GeneratedRegex(@"(?<![\w*])(?<mark>[*_])(?=\S)(?<words>[^*_\n]+?)(?<=\S)\k<mark>(?![\w*])", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Emphasis();

    [GeneratedRegex(@"^[ \t]*(?:-[ \t]*){2,}$", RegexOptions.Multiline | RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Rule();
}
