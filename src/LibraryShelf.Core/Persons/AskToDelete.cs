using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

public enum AskToDeleteOutcome
{
    /// <summary>A ticket and its mail stand in the database; nothing is deleted before its link is pressed.</summary>
    MailOnItsWay,
    /// <summary>The shelf is hers; nothing was written.</summary>
    IsMaker,
    /// <summary>Asked for too often; nothing was written, and the mails already sent still work.</summary>
    TooOften,
    /// <summary>Deleted, or merged into another, since this sign-in; nothing was written.</summary>
    NotThere,
}

/// <summary>Somebody signed in wants to be deleted: the mailbox has to say so too, because a browser may be left open.</summary>
public sealed class AskToDelete(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan Works = TimeSpan.FromHours(24);

    /// <summary>Mails in <see cref="CountedOver"/>.</summary>
    public const int MostAsks = 5;

    private static readonly TimeSpan CountedOver = TimeSpan.FromHours(1);

    /// <param name="shelfAddress">For the link, without a slash at its end; null: the mail says where on the shelf it leads.</param>
    public async Task<AskToDeleteOutcome> RunAsync(long personId, string? shelfAddress, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var person = await db.Users.AsNoTracking()
            .SingleOrDefaultAsync(p => p.Id == personId && p.DeletedAt == null && p.MergedIntoId == null, cancellationToken);
        if (person is not { Email: { } email, NormalizedEmail: { } normalized })
            return AskToDeleteOutcome.NotThere;
        if (person.IsMaker)
            return AskToDeleteOutcome.IsMaker;
        if (await db.SignInTickets.CountAsync(
            t => t.Purpose == SignInPurpose.DeleteMe && t.NormalizedEmail == normalized && t.CreatedAt > now - CountedOver, cancellationToken) >= MostAsks)
            return AskToDeleteOutcome.TooOften;
        var token = Secrets.NewToken();
        var ticket = new SignInTicket
        {
            Purpose = SignInPurpose.DeleteMe, Email = email, NormalizedEmail = normalized, TokenHash = Secrets.Hash(token), CreatedAt = now, ExpiresAt = now + Works,
        };
        db.SignInTickets.Add(ticket);
        await db.SaveChangesAsync(cancellationToken);
        var (subject, text) = PersonMails.AreYouSure(shop, shelfAddress, token);
        db.Outbox.Add(new OutboxMail { Cause = $"delete-me:{ticket.Id}", To = email, Subject = subject, Text = text, CreatedAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return AskToDeleteOutcome.MailOnItsWay;
    }
}
