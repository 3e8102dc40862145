using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record OfferRecoveryOutcome
{
    private OfferRecoveryOutcome() { }

    /// <summary>
    /// The one-time link's token, to be shown once at the server. Her sign-ins elsewhere end, the lock after wrong passwords is
    /// off, and <paramref name="PasskeysRemoved"/> passkeys are gone. The old password works until a new one is chosen.
    /// </summary>
    public sealed record Offered(string Token, int PasskeysRemoved) : OfferRecoveryOutcome;

    /// <summary>The shelf is not claimed yet; nothing was written.</summary>
    public sealed record NoMaker : OfferRecoveryOutcome;

    /// <summary>The maker signs in with another address; nothing was written.</summary>
    public sealed record NotTheMaker : OfferRecoveryOutcome;
}

/// <summary>For the person at the server: gives the maker who lost her way in a link with which she chooses a new password.</summary>
public sealed class OfferRecovery(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan Works = TimeSpan.FromHours(1);

    /// <param name="typedEmail">The address she signs in with; asked for so that nobody is recovered by mistake.</param>
    /// <param name="removePasskeys">Hers may be in other hands.</param>
    public async Task<OfferRecoveryOutcome> RunAsync(string? typedEmail, bool removePasskeys, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(EmailAddress.Tidy(typedEmail) ?? "");
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (!await db.Users.AnyAsync(p => p.IsMaker, cancellationToken))
            return new OfferRecoveryOutcome.NoMaker();
        var maker = await db.Users.FirstOrDefaultAsync(p => p.IsMaker && p.NormalizedEmail == normalized, cancellationToken);
        if (maker is null)
            return new OfferRecoveryOutcome.NotTheMaker();
        var removed = removePasskeys
            ? await db.Set<IdentityUserPasskey<long>>().Where(k => k.UserId == maker.Id).ExecuteDeleteAsync(cancellationToken)
            : 0;
        await People.EndSignInsAsync(db, maker, clock.GetUtcNow(), cancellationToken);
        var token = await AddTicketAsync(maker, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new OfferRecoveryOutcome.Offered(token, removed);
    }

    /// <summary>A new link replaces the one before.</summary>
    private async Task<string> AddTicketAsync(Person maker, CancellationToken cancellationToken)
    {
        var (token, now) = (Secrets.NewToken(), clock.GetUtcNow());
        await db.SignInTickets.Where(t => t.Purpose == SignInPurpose.RecoverMaker).ExecuteDeleteAsync(cancellationToken);
        db.SignInTickets.Add(new SignInTicket
        {
            Purpose = SignInPurpose.RecoverMaker,
            Email = maker.Email!,
            NormalizedEmail = maker.NormalizedEmail!,
            TokenHash = Secrets.Hash(token),
            CreatedAt = now,
            ExpiresAt = now + Works,
        });
        await db.SaveChangesAsync(cancellationToken);
        return token;
    }
}
