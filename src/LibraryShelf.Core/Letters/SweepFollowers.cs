using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>Forgets addresses that were typed, mailed, and never said yes: whoever typed them need not be who reads them.</summary>
public sealed class SweepFollowers(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan UnconfirmedKept = TimeSpan.FromDays(7);

    /// <returns>How many went.</returns>
    public Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var before = clock.GetUtcNow() - UnconfirmedKept;
        return db.Followers.Where(f => f.ConfirmedAt == null && f.AskedAt < before).ExecuteDeleteAsync(cancellationToken);
    }
}
