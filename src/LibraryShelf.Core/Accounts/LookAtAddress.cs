using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>What the page behind a link about another address shows.</summary>
/// <param name="IsOld">It is the link that was sent to the old address.</param>
/// <param name="NewEmail">Empty unless something can still be said.</param>
public sealed record AddressLook(AddressChangeState State, bool IsOld, string NewEmail)
{
    /// <summary>Yes or no is still asked, or was said and can be taken back.</summary>
    public bool IsWaiting => State is AddressChangeState.Open or AddressChangeState.SaidYes;
}

/// <summary>Looks at a link about another address and changes nothing: mail scanners open links too.</summary>
public sealed class LookAtAddress(ShelfDb db, TimeProvider clock)
{
    public async Task<AddressLook> RunAsync(string token, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var change = await db.AddressChanges.AsNoTracking().FirstOrDefaultAsync(c => c.OldTokenHash == hash || c.NewTokenHash == hash, cancellationToken);
        if (change is null)
            return new(AddressChangeState.Unknown, false, "");
        var look = new AddressLook(change.StateAt(clock.GetUtcNow(), change.OldTokenHash == hash), change.OldTokenHash == hash, "");
        return look.IsWaiting ? look with { NewEmail = change.NewEmail } : look;
    }
}
