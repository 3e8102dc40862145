using System.Text;
using LibraryShelf.Core.Mail;
using MimeKit;

namespace LibraryShelf.Adapters.Mail;

/// <summary>One of our mails as an RFC 5322 message: plain text and, where there is one, the same as a page, for the program that shows it to choose.</summary>
internal static class MimeMail
{
    /// <exception cref="ParseException">The address can't be written in a mail.</exception>
    public static MimeMessage Of(MailToSend mail)
    {
        var message = new MimeMessage
        {
            MessageId = mail.MessageId,
            From = { new MailboxAddress(mail.FromName, mail.FromAddress) },
            To = { MailboxAddress.Parse(mail.To) },
            Subject = mail.Subject,
            Date = mail.Date,
            // No answer from a machine is wanted (RFC 3834 §5).
            Headers = { { "Auto-Submitted", "auto-generated" } },
            Body = Body(mail),
        };
        foreach (var (name, value) in mail.Headers)
            message.Headers.Add(OnOneLine(name, value));
        return message;
    }

    /// <summary>Written as it stands, however long: an address of a page has no space at which it could be folded but the one before it, and not every program joins that line again.</summary>
    private static Header OnOneLine(string name, string value)
    {
        var header = new Header(Encoding.ASCII, name, value);
        header.SetRawValue(Encoding.ASCII.GetBytes($" {value}\r\n"));
        return header;
    }

    /// <summary>The plainest first, the one we like best last (RFC 2046 §5.1.4).</summary>
    private static MimeEntity Body(MailToSend mail) => mail.Html.Length == 0
        ? Part("plain", mail.Text)
        : new MultipartAlternative(Part("plain", mail.Text), Part("html", mail.Html));

    /// <summary>Quoted-printable (RFC 2045 §6.7): lines stay short and ASCII whatever is written, so that no relay has to rewrite what was signed.</summary>
    private static TextPart Part(string subtype, string words) =>
        new(subtype) { Text = words, ContentTransferEncoding = ContentEncoding.QuotedPrintable };
}
