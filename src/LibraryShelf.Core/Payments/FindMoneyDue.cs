using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Payments;

/// <summary>Whether a change of price or a credit has something to be done now.</summary>
public sealed class FindMoneyDue(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <returns>False, too, while the shelf is held: nothing is told, and nothing is changed at the provider.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        if (await ShelfHold.IsHeldAsync(db, cancellationToken))
            return false;
        var now = clock.GetUtcNow();
        var toldBy = now.AddDays(-settings.Value.Membership.PriceNoticeDays);
        return await db.MonthCredits.AnyAsync(c => c.WrittenAt == null, cancellationToken)
            || await db.MonthCreditLines.AnyAsync(l => l.CreditedAt == null && (l.NextTryAt == null || l.NextTryAt <= now), cancellationToken)
            || await MoveCredits.Stranded(db).AnyAsync(cancellationToken)
            || await ApplyPriceChanges.Begun(db).AnyAsync(l => l.NextTryAt <= now, cancellationToken)
            || await db.PriceChanges.AnyAsync(c => c.ToldAllAt == null && c.CalledOffAt == null, cancellationToken)
            || await ApplyPriceChanges.DueLines(db, now).AnyAsync(l => l.ToldAt <= toldBy && (l.NextTryAt == null || l.NextTryAt <= now), cancellationToken);
    }
}
