using System.Net.Sockets;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using MailKit;
using MailKit.Net.Smtp;
using MailKit.Security;
using Microsoft.Extensions.Options;
using MimeKit;

namespace LibraryShelf.Adapters.Mail;

/// <summary>
/// Hands mails to the server of the settings, a connection each. A 5xx about this mail (RFC 5321 §4.2.1) is permanent;
/// a 4xx, a server that can't be reached and a refused password (it may be mended) are not. A line that breaks once a mail is being handed over counts as this mail's
/// trouble: it may be the one a filter on the way chokes on.
/// </summary>
public sealed partial class SmtpMailer(IOptions<ShelfSettings> settings) : IMailer
{
    private readonly MailSignature _signature = new(settings.Value.Mail);

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    public async Task SendAsync(MailToSend mail, CancellationToken cancellationToken)
    {
        using var message = Message(mail);
        _signature.Put(message);
        using var client = new SmtpClient { Timeout = (int)Patience.TotalMilliseconds };
        var isThere = false;
        try
        {
            await ConnectAsync(client, settings.Value.Mail, cancellationToken);
            isThere = true;
            await client.SendAsync(message, cancellationToken);
        }
        catch (SmtpCommandException e)
        {
            throw new MailRefusedException(T($"The mail server answered {(int)e.StatusCode}: {e.Message}"), isThere && IsAboutThisMail(e), e)
            {
                IsAboutMailbox = IsAboutMailbox(e), IsAboutServer = !isThere || IsAboutSender(e),
            };
        }
        catch (AuthenticationException e)
        {
            throw new MailRefusedException(T($"The mail server did not take the name and password of the settings: {e.Message}"), false, e) { IsAboutServer = true };
        }
        catch (ServiceNotAuthenticatedException e)
        {
            throw new MailRefusedException(T($"The mail server wants a name and a password first. Set Shelf:Mail:SmtpUser and SmtpPassword. It said: {e.Message}"), false, e) { IsAboutServer = true };
        }
        catch (Exception e) when (e is SocketException or IOException or ProtocolException or SslHandshakeException
            or ServiceNotConnectedException or NotSupportedException or TimeoutException)
        {
            throw new MailRefusedException(T($"The mail server could not be reached: {e.Message}"), false, e) { IsAboutServer = !isThere };
        }
        await PartAsync(client, cancellationToken);
    }

    /// <summary>What is said of the sender is about our settings, which may be mended, or that we write too much; but for 552 ("too big", RFC 1870 §6.1), which is this mail's.</summary>
    private static bool IsAboutSender(SmtpCommandException e) => e.ErrorCode == SmtpErrorCode.SenderNotAccepted && (int)e.StatusCode != 552;

    /// <summary>Of the receiver, or of what it says.</summary>
    private static bool IsAboutThisMail(SmtpCommandException e) =>
        (int)e.StatusCode >= 500 && e.ErrorCode is (SmtpErrorCode.RecipientNotAccepted or SmtpErrorCode.MessageNotAccepted);

    /// <summary>
    /// The server's own word is not enough: 550 is also said of a sender it dislikes (RFC 5321 §4.2.3). X.1.1 to X.1.4, X.1.6 (RFC 3463 §3.2) and X.1.10
    /// (RFC 7505 §4.2) are about the receiver's address; X.1.7 and X.1.8 are about ours.
    /// </summary>
    private static bool IsAboutMailbox(SmtpCommandException e) =>
        e.ErrorCode == SmtpErrorCode.RecipientNotAccepted && (int)e.StatusCode >= 500 && NoMailbox().IsMatch(e.Message);

    [GeneratedRegex(@"^\s*(?:\d{3}[ -])?5\.1\.(?:1|2|3|4|6|10)\b", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex NoMailbox();

    /// <summary>The mail is taken already: trouble with saying goodbye must not send it again.</summary>
    private static async Task PartAsync(SmtpClient client, CancellationToken cancellationToken)
    {
        try
        {
            await client.DisconnectAsync(quit: true, cancellationToken);
        }
        catch (Exception e) when (e is IOException or SocketException or ProtocolException)
        {
            return;
        }
    }

    private static MimeMessage Message(MailToSend mail)
    {
        try
        {
            return MimeMail.Of(mail);
        }
        catch (ParseException e)
        {
            throw new MailRefusedException(T($"The address can’t be written in a mail: {e.Message}"), isPermanent: true, e);
        }
    }

    private static async Task ConnectAsync(SmtpClient client, MailSettings mail, CancellationToken cancellationToken)
    {
        await client.ConnectAsync(mail.SmtpHost, mail.SmtpPort, Security(mail.SmtpSecurity), cancellationToken);
        if (mail.SmtpUser.Length > 0)
            await client.AuthenticateAsync(mail.SmtpUser, mail.SmtpPassword, cancellationToken);
    }

    private static SecureSocketOptions Security(string word) => word switch
    {
        "starttls" => SecureSocketOptions.StartTls,
        "tls" => SecureSocketOptions.SslOnConnect,
        "none" => SecureSocketOptions.None,
        _ => SecureSocketOptions.Auto,
    };
}
