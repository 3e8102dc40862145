namespace LibraryShelf.Core.Mail;

/// <summary>A mail as the wire needs it. <paramref name="MessageId"/> is the whole Message-ID without angle brackets.</summary>
public sealed record MailToSend(string MessageId, string FromName, string FromAddress, string To, string Subject, string Text, DateTimeOffset Date)
{
    /// <summary>The text once more as a page; "": there is none.</summary>
    public string Html { get; init; } = "";

    /// <summary>Names and values of header fields besides those every mail has; ASCII.</summary>
    public IReadOnlyList<KeyValuePair<string, string>> Headers { get; init; } = [];
}

/// <summary>Hands a mail over. Throws <see cref="MailRefusedException"/> when the other side refused it.</summary>
public interface IMailer
{
    Task SendAsync(MailToSend mail, CancellationToken cancellationToken);
}

/// <summary>The mail was not taken; <see cref="IsPermanent"/> tells whether trying again can help.</summary>
public sealed class MailRefusedException(string message, bool isPermanent, Exception? inner = null) : Exception(message, inner)
{
    public bool IsPermanent { get; } = isPermanent;

    /// <summary>The other side says that there is no such mailbox (RFC 3463 §3.2): no mail to this address will ever be taken.</summary>
    public bool IsAboutMailbox { get; init; }

    /// <summary>It has nothing to do with this mail: the server can't be reached, or takes none of the shelf's. Never permanent.</summary>
    public bool IsAboutServer { get; init; }
}
