using System.Net;
using System.Text;
using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Mail;

/// <summary>
/// A mail's text as a page for programs that show one: the same words in the same order, nothing fetched from anywhere. No colours, so that a program
/// that shows mails dark can. Empty lines part paragraphs; "- " begins an item, "> " what somebody else said, a line of hyphens makes the line above it a
/// heading, and after "-- " (RFC 3676 §4.3) stands who writes.
/// </summary>
public static partial class MailHtml
{
    private const string Body = "margin:0 auto;padding:20px;max-width:36em;font:16px/1.5 Georgia,'Times New Roman',serif;overflow-wrap:anywhere";
    private const string Heading = "font-size:1.2em;margin:1.5em 0 .5em";
    private const string Rule = "margin:2em 0 1em;border:0;border-top:1px solid";
    private const string Quote = "margin:1em 0;padding-left:1em;border-left:3px solid";

    /// <summary>What its style attributes may say; there is no other style. Mail programs read no style sheet that lies elsewhere.</summary>
    public static IReadOnlyList<string> Styles { get; } = [Body, Heading, Rule, Quote];

    private enum Block { None, Paragraph, List, Quote }

    /// <param name="subject">The page's title.</param>
    /// <param name="text">Plain text; whatever stands in it is shown, never obeyed.</param>
    public static string Of(string subject, string text)
    {
        var page = new StringBuilder($"""
            <!DOCTYPE html>
            <html lang="{Safe(Say.Tag)}">
            <head>
            <meta charset="utf-8">
            <meta name="viewport" content="width=device-width, initial-scale=1">
            <meta name="color-scheme" content="light dark">
            <title>{Safe(subject)}</title>
            </head>
            <body style="{Body}">

            """);
        Write(page, text.ReplaceLineEndings("\n").Split('\n'));
        return page.Append("</body>\n</html>\n").Replace("\r\n", "\n").ToString();
    }

    private static void Write(StringBuilder page, string[] lines)
    {
        var (block, held) = (Block.None, new List<string>());
        foreach (var line in lines)
        {
            if (block == Block.Paragraph && IsUnderline(line))
            {
                Close(page, Block.Paragraph, held[..^1]);
                page.Append($"<h2 style=\"{Heading}\">").Append(Inline(held[^1])).Append("</h2>\n");
                (block, held) = (Block.None, []);
                continue;
            }
            var next = KindOf(line);
            if (next != block)
            {
                Close(page, block, held);
                (block, held) = (next, []);
            }
            if (line == "-- ")
                page.Append($"<hr style=\"{Rule}\">\n");
            else if (block != Block.None)
                held.Add(block == Block.Paragraph ? line : line[2..]);
        }
        Close(page, block, held);
    }

    private static Block KindOf(string line) => line switch
    {
        "-- " => Block.None,
        _ when string.IsNullOrWhiteSpace(line) => Block.None,
        ['-', ' ', ..] => Block.List,
        ['>', ' ', ..] => Block.Quote,
        _ => Block.Paragraph,
    };

    private static bool IsUnderline(string line) => line.Length >= 3 && line.All(c => c == '-');

    private static void Close(StringBuilder page, Block block, List<string> lines)
    {
        if (lines.Count == 0)
            return;
        var shown = lines.Select(Inline);
        page.Append(block switch
        {
            Block.List => $"<ul>\n{string.Concat(shown.Select(item => $"<li>{item}</li>\n"))}</ul>\n",
            Block.Quote => $"<blockquote style=\"{Quote}\">{string.Join("<br>\n", shown)}</blockquote>\n",
            _ => $"<p>{string.Join("<br>\n", shown)}</p>\n",
        });
    }

    /// <summary>Escaped, with addresses of pages as links.</summary>
    private static string Inline(string line)
    {
        var (shown, from) = (new StringBuilder(), 0);
        foreach (Match link in Link().Matches(line))
        {
            shown.Append(Safe(line[from..link.Index])).Append($"<a href=\"{Safe(link.Value)}\">{Safe(link.Value)}</a>");
            from = link.Index + link.Length;
        }
        return shown.Append(Safe(line[from..])).ToString();
    }

    private static string Safe(string text) => WebUtility.HtmlEncode(text);

    /// <summary>Of the web alone, up to what ends a sentence.</summary>
    [GeneratedRegex("""https?://[^\s<>"]*[^\s<>".,;:!?)\]]""", RegexOptions.CultureInvariant, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Link();
}
