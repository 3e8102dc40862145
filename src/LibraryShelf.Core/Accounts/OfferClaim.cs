using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>While no maker exists: makes the one-time link with which she takes over the shelf. A new one replaces the one before.</summary>
public sealed class OfferClaim(ShelfDb db, TimeProvider clock)
{
    /// <summary>Short, because what a service prints may be kept in a journal.</summary>
    public static readonly TimeSpan Works = TimeSpan.FromHours(24);

    /// <returns>The link's token, to be shown once on the console; null when the shelf has a maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        if (await db.Users.AnyAsync(p => p.IsMaker, cancellationToken))
            return null;
        var token = Secrets.NewToken();
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await db.SignInTickets.Where(t => t.Purpose == SignInPurpose.ClaimShelf).ExecuteDeleteAsync(cancellationToken);
        db.SignInTickets.Add(new SignInTicket
        {
            Purpose = SignInPurpose.ClaimShelf,
            TokenHash = Secrets.Hash(token),
            CreatedAt = now,
            ExpiresAt = now + Works,
        });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return token;
    }
}
