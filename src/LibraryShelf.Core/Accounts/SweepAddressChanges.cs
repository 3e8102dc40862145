using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>
/// Forgets wishes for another address and the mails about them, whatever became of them, a month after they were asked for: until then their links can
/// say what became of them.
/// </summary>
public sealed class SweepAddressChanges(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan Kept = TimeSpan.FromDays(30);

    /// <returns>How many were forgotten.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var before = clock.GetUtcNow() - Kept;
        var old = await db.AddressChanges.AsNoTracking().Where(c => c.AskedAt < before).Select(c => c.Id).ToListAsync(cancellationToken);
        // Nearly always there are none, and looking needs no turn at writing.
        if (old.Count == 0)
            return 0;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // Mails about a change went to addresses that are nobody's now, or never were: only the change tells whose they are.
        foreach (var mail in await db.Outbox.Where(m => m.Cause.StartsWith(AddressMail.Cause)).ToListAsync(cancellationToken))
        {
            if (!old.Exists(id => mail.Cause.StartsWith($"{AddressMail.Cause}{id}:", StringComparison.Ordinal)))
                continue;
            db.Outbox.Remove(mail);
            if (mail.GaveUpAt is not null)
                await AlertAddresses.ReplaceAsync(db, mail.To, T("an address changed since, or never said yes"), cancellationToken);
        }
        await db.SaveChangesAsync(cancellationToken);
        var forgotten = await db.AddressChanges.Where(c => old.Contains(c.Id)).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return forgotten;
    }
}
