using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <summary>A mail of the outbox, ready for the wire, or the reason why it is left out.</summary>
internal abstract record PreparedMail
{
    private PreparedMail() { }

    /// <param name="Mail">Whole.</param>
    /// <param name="IsKnown">The shelf knows whose address it is, and may write down what becomes of it.</param>
    public sealed record Ready(MailToSend Mail, bool IsKnown) : PreparedMail;

    /// <param name="Why">For the maker.</param>
    /// <param name="HasToBeTold">Of something they have to hear of (another price, what was agreed to): the maker is alerted as of one that was given up.</param>
    public sealed record LeftOut(string Why, bool HasToBeTold = false) : PreparedMail;
}

/// <summary>Makes a row of the outbox a mail: to whom, may it be sent, what it says, how to stop such mails.</summary>
internal sealed class MailPreparation(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <param name="mail">The row.</param>
    /// <param name="shop">Null before the shelf is claimed.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<PreparedMail> RunAsync(OutboxMail mail, Shop? shop, CancellationToken cancellationToken)
    {
        var kind = MailKinds.Of(mail.Cause);
        if (await Receiver.FindAsync(db, mail, cancellationToken) is not { } receiver)
            return new PreparedMail.LeftOut(T("Not sent: whom it was for is not there any more."));
        var why = MaySend.Decide(kind, await receiver.IsRefusedAsync(db, kind, cancellationToken), await receiver.IsSuppressedAsync(db, cancellationToken), isHeld: false);
        if (why == MaySendWhy.Refused)
            return new PreparedMail.LeftOut(T("Not sent: they want no mails of this kind."));
        if (why == MaySendWhy.Suppressed)
            return new PreparedMail.LeftOut(T("Not sent: the mailbox refused for good before. Write to it again below, if it is well."), kind == MailKind.Notice);
        var (subject, text) = (mail.Subject, mail.Text);
        if (mail.AboutId is not null)
        {
            var letter = await new WriteLetter(db, clock, settings).RunAsync(mail, cancellationToken);
            if (letter is not LetterOutcome.Written written)
                return new PreparedMail.LeftOut(((LetterOutcome.NotNeeded)letter).Why);
            (subject, text) = (written.Subject, written.Text);
        }
        return await FinishAsync(mail, receiver, shop, subject, text, cancellationToken);
    }

    private async Task<PreparedMail> FinishAsync(OutboxMail mail, Receiver receiver, Shop? shop, string subject, string text, CancellationToken cancellationToken)
    {
        text = MailWords.Whole(text, mail.Cause, shop);
        var headers = new List<KeyValuePair<string, string>>();
        if (LetterKinds.Find(MailKinds.Of(mail.Cause)) is { } kind && await receiver.KeyAsync(db, cancellationToken) is { } key)
        {
            var stopAt = LetterDesk.AddressOf(settings.Value.PublicUrl) is { } address ? LetterWords.StopAt(address, key, kind) : null;
            text = LetterWords.WithWayOut(text, receiver.Follower is null ? kind : kind with { Title = T("this library") }, stopAt);
            headers.AddRange(StopHeaders.Of(stopAt));
        }
        var from = FromAddress(shop);
        // The row's own time keeps two shelves at one domain apart; the same for every try, so that a receiver sees doubles.
        var id = $"{mail.Cause.Replace(':', '.')}.{mail.CreatedAt.ToUnixTimeMilliseconds()}@{from[(from.IndexOf('@') + 1)..]}";
        return new PreparedMail.Ready(new MailToSend(id, MailWords.ShopName(shop), from, receiver.Email, subject, text, mail.CreatedAt)
        {
            Html = MailHtml.Of(subject, text), Headers = headers,
        }, receiver.PersonId is not null || receiver.Follower is not null);
    }

    private string FromAddress(Shop? shop)
    {
        string?[] candidates = [settings.Value.Mail.FromAddress, shop?.Contact];
        return candidates.Select(Accounts.EmailAddress.Tidy).FirstOrDefault(a => a is not null) ?? "shelf@localhost";
    }
}
