using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Forgets wishes for another address, whatever became of them, a month after they were asked for: until then their links can say what became of them.</summary>
public sealed class SweepAddressChanges(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan Kept = TimeSpan.FromDays(30);

    /// <returns>How many were forgotten.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var before = clock.GetUtcNow() - Kept;
        var old = db.AddressChanges.Where(c => c.AskedAt < before);
        // Nearly always there are none, and looking needs no turn at writing.
        return await old.AnyAsync(cancellationToken) ? await old.ExecuteDeleteAsync(cancellationToken) : 0;
    }
}
