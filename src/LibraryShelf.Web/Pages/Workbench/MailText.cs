using System.Text.Encodings.Web;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Mails as the maker reads them.</summary>
internal static partial class MailText
{
    /// <summary>Its own, or what it will be about once it is composed.</summary>
    public static string Subject(string subject, MailKind kind) =>
        subject.Length > 0 ? subject : $"About {LetterKinds.Find(kind)?.Title ?? "the shelf"}; written when it is sent";

    /// <summary>A mail's plain text with its web addresses made into links, everything else shown as it is.</summary>
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
