using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using MimeKit;
using MimeKit.Cryptography;

namespace LibraryShelf.Adapters.Mail;

/// <summary>Signs a mail with the shop's own key (DKIM, RFC 6376), where the settings name one.</summary>
internal sealed class MailSignature(MailSettings settings)
{
    /// <summary>
    /// Whom it is from and to, what it is about, and what a mail program obeys: RFC 6376 §5.4 names the usual ones, RFC 8058 §3.1 asks for the two that stop
    /// mails. Those a mail does not have are left out.
    /// </summary>
    private static readonly HeaderId[] Signed =
    [
        HeaderId.From, HeaderId.To, HeaderId.Subject, HeaderId.Date, HeaderId.MessageId, HeaderId.MimeVersion, HeaderId.ContentType,
        HeaderId.AutoSubmitted, HeaderId.ListUnsubscribe, HeaderId.ListUnsubscribePost,
    ];

    private readonly Lazy<DkimSigner> _signer = new(() => new DkimSigner(settings.DkimKeyFile, settings.DkimDomain, settings.DkimSelector, DkimSignatureAlgorithm.RsaSha256)
    {
        // Relays may fold lines anew and change space at line ends.
        HeaderCanonicalizationAlgorithm = DkimCanonicalizationAlgorithm.Relaxed,
        BodyCanonicalizationAlgorithm = DkimCanonicalizationAlgorithm.Relaxed,
    }, LazyThreadSafetyMode.PublicationOnly);

    /// <exception cref="MailRefusedException">The key can't be read; it may be put right, so the mail is tried again.</exception>
    public void Put(MimeMessage message)
    {
        if (settings.DkimKeyFile.Length == 0)
            return;
        message.Prepare(EncodingConstraint.SevenBit);
        try
        {
            _signer.Value.Sign(message, [.. Signed.Where(message.Headers.Contains)]);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or FormatException or ArgumentException)
        {
            throw new MailRefusedException(T($"The mail could not be signed, because the key of Shelf:Mail:DkimKeyFile can’t be read: {e.Message}"), isPermanent: false, e);
        }
    }
}
