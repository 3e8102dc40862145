using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>Writes messages of the provider, each once however often it comes, and durably: the provider forgets what was answered with 200.</summary>
public sealed class KeepMessages(ShelfDb db)
{
    /// <returns>How many were new.</returns>
    public async Task<int> RunAsync(IReadOnlyList<PaymentEvent> messages, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var ids = messages.Select(m => m.ProviderId).Distinct(StringComparer.Ordinal).ToList();
        var known = (await db.PaymentEvents.Where(e => ids.Contains(e.ProviderId)).Select(e => e.ProviderId).ToListAsync(cancellationToken))
            .ToHashSet(StringComparer.Ordinal);
        var fresh = messages.Where(m => known.Add(m.ProviderId)).ToList();
        db.PaymentEvents.AddRange(fresh);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return fresh.Count;
    }
}
