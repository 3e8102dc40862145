using System.Text.Encodings.Web;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>A mail's plain text with its web addresses made into links, everything else shown as it is.</summary>
internal static partial class MailText
{
    public static IHtmlContent WithLinks(string text)
    {
        var html = new HtmlContentBuilder();
        var at = 0;
        foreach (var match in WebAddress().EnumerateMatches(text))
        {
            var address = HtmlEncoder.Default.Encode(text.Substring(match.Index, match.Length));
            html.Append(text[at..match.Index]).AppendHtml($"<a href=\"{address}\">{address}</a>");
            at = match.Index + match.Length;
        }
        return html.Append(text[at..]);
    }

    [GeneratedRegex(@"https?://[^\s<>""]+", RegexOptions.CultureInvariant, matchTimeoutMilliseconds: 1000)]
    private static partial Regex WebAddress();
}
