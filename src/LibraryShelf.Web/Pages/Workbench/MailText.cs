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
        subject.Length > 0 ? subject : T($"About {LetterKinds.Find(kind)?.Title ?? T("the shelf")}; written when it is sent");

    /// <summary>What became of a mail that was to be tried again.</summary>
    public static string TriedAgain(TryMailAgainOutcome outcome) => outcome switch
    {
        TryMailAgainOutcome.Waits => T("It is in the outbox again, and goes out by itself."),
        TryMailAgainOutcome.WaitsStopped => T("It is in the outbox again, and waits with the others that you stopped until you let them go."),
        TryMailAgainOutcome.TextGone => T("It can’t be tried again: its text is not kept. Whoever wanted to sign in asks for another."),
        TryMailAgainOutcome.NobodyThere => T("It was not put back: whom it was for is not there any more."),
        TryMailAgainOutcome.Refused => T("It was not put back: they have said that they want no mails of this kind."),
        TryMailAgainOutcome.Suppressed => T("It was not put back: the mailbox refused for good. Press “Write again” at it, under Closed mailboxes in the outbox, if it is well; then try the mail again."),
        _ => T("It is not given up any more: it waits in the outbox, or was sent. Nothing was changed."),
    };

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
