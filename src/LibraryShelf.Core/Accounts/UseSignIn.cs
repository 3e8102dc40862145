using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>What someone shows to sign in: the mailed link's token, or the address and the mailed code.</summary>
public abstract record SignInProof
{
    private SignInProof() { }

    public sealed record Link(string Token) : SignInProof;

    public sealed record Code(string? Email, string? Typed) : SignInProof;
}

public abstract record SignInOutcome
{
    private SignInOutcome() { }

    /// <summary>The ticket is used up; the person is the one to sign in, added just now when the address is new.</summary>
    public sealed record Done(Person Person) : SignInOutcome;

    /// <summary>The link's ticket is not open (or was used up this very moment by another request).</summary>
    public sealed record LinkRefused(TicketState State) : SignInOutcome;

    /// <summary>Wrong, used, run out, or tried too often: deliberately not told apart.</summary>
    public sealed record CodeRefused : SignInOutcome;
}

/// <summary>Uses up a sign-in ticket, once.</summary>
public sealed class UseSignIn(ShelfDb db, TimeProvider clock)
{
    public Task<SignInOutcome> RunAsync(SignInProof proof, CancellationToken cancellationToken) => proof switch
    {
        SignInProof.Link link => ByLinkAsync(link.Token, cancellationToken),
        SignInProof.Code code => ByCodeAsync(code, cancellationToken),
        _ => throw new ArgumentException("Neither a link nor a code.", nameof(proof)),
    };

    private async Task<SignInOutcome> ByLinkAsync(string token, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var ticket = await db.SignInTickets.AsNoTracking()
            .FirstOrDefaultAsync(t => t.TokenHash == hash && t.Purpose == SignInPurpose.SignIn, cancellationToken);
        var state = ticket?.StateAt(clock.GetUtcNow()) ?? TicketState.Unknown;
        if (ticket is null || state != TicketState.Open)
            return new SignInOutcome.LinkRefused(state);
        return await UseUpAsync(ticket, cancellationToken) ?? new SignInOutcome.LinkRefused(TicketState.Used);
    }

    private async Task<SignInOutcome> ByCodeAsync(SignInProof.Code proof, CancellationToken cancellationToken)
    {
        var code = Secrets.Tidy(proof.Typed ?? "");
        if (EmailAddress.Tidy(proof.Email) is not { } email || code.Length != Secrets.CodeLength)
            return new SignInOutcome.CodeRefused();
        var normalized = EmailAddress.Normalize(email);
        var now = clock.GetUtcNow();
        var open = await db.SignInTickets.AsNoTracking()
            .Where(t => t.NormalizedEmail == normalized && t.Purpose == SignInPurpose.SignIn && t.CodeHash != null
                && t.UsedAt == null && t.ExpiresAt > now && t.WrongCodes < SignInTicket.MostWrongCodes)
            .OrderByDescending(t => t.Id).ToListAsync(cancellationToken);
        foreach (var ticket in open)
        {
            if (await IsRightAsync(ticket, code, cancellationToken) && await UseUpAsync(ticket, cancellationToken) is { } done)
                return done;
        }
        return new SignInOutcome.CodeRefused();
    }

    /// <summary>Takes one of the ticket's tries before comparing, so that many requests at once get no more tries than one.</summary>
    private async Task<bool> IsRightAsync(SignInTicket ticket, string code, CancellationToken cancellationToken)
    {
        var taken = await db.SignInTickets
            .Where(t => t.Id == ticket.Id && t.UsedAt == null && t.WrongCodes < SignInTicket.MostWrongCodes)
            .ExecuteUpdateAsync(s => s.SetProperty(t => t.WrongCodes, t => t.WrongCodes + 1), cancellationToken);
        return taken == 1 && Secrets.IsSame(Secrets.HashCode(ticket.TokenHash, code), ticket.CodeHash!);
    }

    /// <returns>Null when another request used the ticket up first.</returns>
    private Task<SignInOutcome?> UseUpAsync(SignInTicket ticket, CancellationToken cancellationToken) =>
        // Two tickets of one new address used at once both add the person: the later finds her on looking again.
        FreshEyes.LookAsync(db, () => UseUpOnceAsync(ticket, cancellationToken), () => null);

    private async Task<SignInOutcome?> UseUpOnceAsync(SignInTicket ticket, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var used = await db.SignInTickets.Where(t => t.Id == ticket.Id && t.UsedAt == null && t.ExpiresAt > now)
            .ExecuteUpdateAsync(s => s.SetProperty(t => t.UsedAt, now), cancellationToken);
        if (used == 0)
            return null;
        var person = await People.FindOrAddAsync(db, ticket.Email, now, cancellationToken);
        // A merged account's address proves its own mailbox alone.
        if (!person.EmailConfirmed && person.NormalizedEmail == ticket.NormalizedEmail)
        {
            person.EmailConfirmed = true;
            // Paying signs a new address in before its mailbox was proved: whoever did so may be somebody else.
            await People.EndSignInsAsync(db, person, now, cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
        }
        await ImportClaims.MarkAsync(db, person.Id, now, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new SignInOutcome.Done(person);
    }
}
