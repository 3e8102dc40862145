using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record RecoverOutcome
{
    private RecoverOutcome() { }

    /// <summary>The new password works, the link is used up, and sign-ins elsewhere end.</summary>
    public sealed record Recovered(Person Maker) : RecoverOutcome;

    /// <summary>Too short or too long; nothing was written and the link still works.</summary>
    public sealed record Refused : RecoverOutcome;

    /// <summary>Nothing was written.</summary>
    public sealed record LinkRefused(TicketState State) : RecoverOutcome;
}

/// <summary>The maker chooses a new password with the one-time link of <see cref="OfferRecovery"/>.</summary>
public sealed class RecoverMaker(ShelfDb db, TimeProvider clock, IPasswordHasher<Person> passwords)
{
    public async Task<RecoverOutcome> RunAsync(string token, string? password, CancellationToken cancellationToken)
    {
        var (hash, now) = (Secrets.Hash(token), clock.GetUtcNow());
        var ticket = await db.SignInTickets.AsNoTracking()
            .FirstOrDefaultAsync(t => t.TokenHash == hash && t.Purpose == SignInPurpose.RecoverMaker, cancellationToken);
        var state = ticket?.StateAt(now) ?? TicketState.Unknown;
        if (ticket is null || state != TicketState.Open)
            return new RecoverOutcome.LinkRefused(state);
        if (password is not { Length: >= ClaimShelf.ShortestPassword and <= ClaimShelf.LongestPassword })
            return new RecoverOutcome.Refused();
        // Hashed before the transaction begins: it takes longer than SQLite's one writer may be held.
        var passwordHash = passwords.HashPassword(new Person(), password);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var used = await db.SignInTickets.Where(t => t.Id == ticket.Id && t.UsedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(t => t.UsedAt, now), cancellationToken);
        var maker = await db.Users.FirstOrDefaultAsync(p => p.IsMaker && p.NormalizedEmail == ticket.NormalizedEmail, cancellationToken);
        if (used == 0 || maker is null)
            return new RecoverOutcome.LinkRefused(used == 0 ? TicketState.Used : TicketState.Unknown);
        maker.PasswordHash = passwordHash;
        await People.EndSignInsAsync(db, maker, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new RecoverOutcome.Recovered(maker);
    }
}
