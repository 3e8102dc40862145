using LibraryShelf.Core.Mail;
using MimeKit;

namespace LibraryShelf.Adapters.Mail;

/// <summary>One of our mails as an RFC 5322 message: plain text, UTF-8.</summary>
internal static class MimeMail
{
    public static MimeMessage Of(MailToSend mail) => new()
    {
        MessageId = mail.MessageId,
        From = { new MailboxAddress(mail.FromName, mail.FromAddress) },
        To = { MailboxAddress.Parse(mail.To) },
        Subject = mail.Subject,
        Date = mail.Date,
        // No answer from a machine is wanted (RFC 3834 §5).
        Headers = { { "Auto-Submitted", "auto-generated" } },
        Body = new TextPart("plain") { Text = mail.Text },
    };
}
