using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>What the page behind a link shows before its button is pressed. <paramref name="Email"/> is empty unless it is open.</summary>
public sealed record TicketLook(TicketState State, string Email, DateTimeOffset ExpiresAt);

/// <summary>Looks at a link's ticket and changes nothing: mail scanners open links too.</summary>
public sealed class LookAtTicket(ShelfDb db, TimeProvider clock)
{
    public async Task<TicketLook> RunAsync(string token, SignInPurpose purpose, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var ticket = await db.SignInTickets.AsNoTracking()
            .FirstOrDefaultAsync(t => t.TokenHash == hash && t.Purpose == purpose, cancellationToken);
        if (ticket is null)
            return new(TicketState.Unknown, "", default);
        var state = ticket.StateAt(clock.GetUtcNow());
        return new(state, state == TicketState.Open ? ticket.Email : "", ticket.ExpiresAt);
    }
}
