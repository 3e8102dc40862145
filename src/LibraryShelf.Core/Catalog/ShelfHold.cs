using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Whether this shelf was restored from a backup and holds back what another one may have done since.</summary>
internal static class ShelfHold
{
    /// <summary>Drops, mails that nobody waits for, and changes at the payment provider wait (<see cref="Shop.HeldSince"/>).</summary>
    public static Task<bool> IsHeldAsync(ShelfDb db, CancellationToken cancellationToken) => db.Shops.AnyAsync(s => s.HeldSince != null, cancellationToken);

    /// <summary>The same of what was asked for before it was restored, and may be done since; what is asked for on this shelf is its own.</summary>
    public static Task<bool> IsHeldFromBeforeAsync(ShelfDb db, DateTimeOffset asked, CancellationToken cancellationToken) =>
        db.Shops.AnyAsync(s => s.HeldSince > asked, cancellationToken);

    /// <summary>Nothing ever leaves it (<see cref="Shop.IsTrial"/>).</summary>
    public static Task<bool> IsTrialAsync(ShelfDb db, CancellationToken cancellationToken) => db.Shops.AnyAsync(s => s.IsTrial, cancellationToken);
}
