using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Accounts;

/// <summary>What the asking came to. None of these tells whether the shelf knows the address.</summary>
public enum AskOutcome
{
    /// <summary>A ticket and its mail stand in the database.</summary>
    MailOnItsWay,
    NotAnAddress,
    /// <summary>This address was asked for too often; nothing was written and the mails already sent still work.</summary>
    TooOften,
}

/// <summary>Anyone may ask for a sign-in mail to any address: the ticket and the mail are written together.</summary>
public sealed class AskForSignIn(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>Sign-in mails for one address in <see cref="CountedOver"/>.</summary>
    public const int MostAsks = 5;

    public static readonly TimeSpan CountedOver = TimeSpan.FromHours(1);

    /// <summary>Expired tickets say "this link has run out" until then, and are forgotten after.</summary>
    private static readonly TimeSpan KeptAfterExpiry = TimeSpan.FromDays(30);

    /// <param name="typedEmail">As typed.</param>
    /// <param name="shelfAddress">
    /// The shelf's own address without a slash at its end, such as https://shelf.example; null when none is sure: the mail then
    /// carries the code alone.
    /// </param>
    /// <param name="returnPath">A path on this shelf to go on to, or empty; the caller has made sure that it is local.</param>
    public async Task<AskOutcome> RunAsync(string? typedEmail, string? shelfAddress, string returnPath, CancellationToken cancellationToken)
    {
        if (EmailAddress.Tidy(typedEmail) is not { } email)
            return AskOutcome.NotAnAddress;
        var now = clock.GetUtcNow();
        var normalized = EmailAddress.Normalize(email);
        var asked = await db.SignInTickets.CountAsync(
            t => t.NormalizedEmail == normalized && t.CreatedAt > now - CountedOver, cancellationToken);
        if (asked >= MostAsks)
            return AskOutcome.TooOften;

        var (token, code) = (Secrets.NewToken(), Secrets.NewCode());
        var ticket = NewTicket(email, token, code, now);
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await ForgetOldAsync(now, cancellationToken);
        db.SignInTickets.Add(ticket);
        await db.SaveChangesAsync(cancellationToken);
        db.Outbox.Add(NewMail(shop, ticket, Link(shelfAddress, token, returnPath), code));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return AskOutcome.MailOnItsWay;
    }

    private SignInTicket NewTicket(string email, string token, string code, DateTimeOffset now)
    {
        var hash = Secrets.Hash(token);
        return new SignInTicket
        {
            Purpose = SignInPurpose.SignIn,
            Email = email,
            NormalizedEmail = EmailAddress.Normalize(email),
            TokenHash = hash,
            CodeHash = Secrets.HashCode(hash, code),
            CreatedAt = now,
            ExpiresAt = now + TimeSpan.FromMinutes(settings.Value.SignIn.TicketMinutes),
        };
    }

    private OutboxMail NewMail(Shop? shop, SignInTicket ticket, string? link, string code)
    {
        var (subject, text) = SignInMail.Write(shop, link, code, settings.Value.SignIn.TicketMinutes);
        return new OutboxMail
        {
            Cause = $"sign-in:{ticket.Id}", To = ticket.Email, Subject = subject, Text = text, CreatedAt = ticket.CreatedAt,
        };
    }

    private static string? Link(string? shelfAddress, string token, string returnPath) =>
        shelfAddress is null ? null : $"{shelfAddress}/sign-in/{token}" + (returnPath.Length == 0 ? "" : "?return=" + Uri.EscapeDataString(returnPath));

    private Task<int> ForgetOldAsync(DateTimeOffset now, CancellationToken cancellationToken) => db.SignInTickets
        .Where(t => t.Purpose == SignInPurpose.SignIn && t.ExpiresAt < now - KeptAfterExpiry)
        .ExecuteDeleteAsync(cancellationToken);
}
