using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>Whom a mail goes to at the moment it is sent.</summary>
/// <param name="Email">As it is then.</param>
/// <param name="PersonId">Who has that address; null: nobody the shelf knows.</param>
/// <param name="Follower">Who follows a library, of a mail about that.</param>
internal sealed record Receiver(string Email, long? PersonId, Follower? Follower)
{
    /// <returns>Null: whom it was for is not there any more.</returns>
    public static async Task<Receiver?> FindAsync(ShelfDb db, OutboxMail mail, CancellationToken cancellationToken)
    {
        if (mail.PersonId is { } id)
            return await People.FindAsync(db, id, cancellationToken) is { Email: { } email } person ? new(email, person.Id, null) : null;
        if (mail.AboutId is not null && MailKinds.Of(mail.Cause) == MailKind.Follow)
            return await FindFollowerAsync(db, mail, cancellationToken);
        return await OfAsync(db, mail.To, cancellationToken);
    }

    /// <summary>Whoever has an address.</summary>
    public static async Task<Receiver> OfAsync(ShelfDb db, string email, CancellationToken cancellationToken) =>
        new(email, await PersonOfAsync(db, EmailAddress.Normalize(email), cancellationToken), null);

    public async Task<bool> IsRefusedAsync(ShelfDb db, MailKind kind, CancellationToken cancellationToken) =>
        PersonId is { } id && await db.MailRefusals.AnyAsync(r => r.PersonId == id && r.Kind == kind, cancellationToken);

    public Task<bool> IsSuppressedAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(Email);
        return db.MailSuppressions.AnyAsync(s => s.NormalizedEmail == normalized, cancellationToken);
    }

    /// <summary>In the link that stops mails of a kind; null: the shelf has no place to write that down for this address.</summary>
    public async Task<string?> KeyAsync(ShelfDb db, CancellationToken cancellationToken) =>
        Follower?.Key ?? (PersonId is { } id ? await LetterKeys.OfAsync(db, id, cancellationToken) : null);

    private static async Task<Receiver?> FindFollowerAsync(ShelfDb db, OutboxMail mail, CancellationToken cancellationToken)
    {
        var followerId = long.Parse(mail.Cause[(mail.Cause.LastIndexOf(':') + 1)..], CultureInfo.InvariantCulture);
        var follower = await db.Followers.AsNoTracking().SingleOrDefaultAsync(f => f.Id == followerId && f.ConfirmedAt != null, cancellationToken);
        return follower is null ? null : new(follower.Email, await PersonOfAsync(db, follower.NormalizedEmail, cancellationToken), follower);
    }

    private static async Task<long?> PersonOfAsync(ShelfDb db, string normalized, CancellationToken cancellationToken)
    {
        var person = await db.Users.Where(p => p.NormalizedEmail == normalized && p.DeletedAt == null)
            .Select(p => new { p.Id, p.MergedIntoId }).FirstOrDefaultAsync(cancellationToken);
        return person?.MergedIntoId ?? person?.Id;
    }
}
