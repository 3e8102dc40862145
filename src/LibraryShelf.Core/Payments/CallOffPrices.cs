using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>A change of price is called off: whoever does not pay the new price by now keeps the old one, and hears of it.</summary>
public sealed class CallOffPrices(ShelfDb db, TimeProvider clock)
{
    /// <param name="priceChangeId">Which.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    /// <returns>False: there is none, it was called off before, or everybody pays the new price already; nothing was written.</returns>
    public async Task<bool> RunAsync(long priceChangeId, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var waiting = db.PriceChangeLines.Where(l => l.PriceChangeId == priceChangeId && l.AppliedAt == null && l.SkippedAt == null);
        if (await db.PriceChanges.SingleOrDefaultAsync(c => c.Id == priceChangeId && c.CalledOffAt == null, cancellationToken) is not { } change
            || (change.ToldAllAt is not null && !await waiting.AnyAsync(cancellationToken)))
            return false;
        change.CalledOffAt = now;
        var shop = await db.Shops.AsNoTracking().SingleAsync(cancellationToken);
        var people = await waiting.Join(db.PaidMemberships.Where(m => m.EndedAt == null), l => l.PaidMembershipId, m => m.Id, (l, m) => m)
            .Join(db.Users.Where(p => p.Email != null), m => m.PersonId, p => p.Id, (m, p) => new { m.Id, p.Email }).ToListAsync(cancellationToken);
        db.Outbox.AddRange(people.Select(p => new OutboxMail
        {
            Cause = $"price-off:{priceChangeId}:{p.Id}", To = p.Email!, Subject = T("Your membership’s price stays as it is"), CreatedAt = now,
            Text = T("We wrote to you that your membership would cost another price. That is called off: you go on paying what you pay today, and have nothing to do.") + MailWords.Foot(shop),
        }));
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }
}
