using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>The address that was mailed says yes: it follows the library from now on. Twice is once.</summary>
public sealed class ConfirmFollowing(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: nobody follows by this link.</returns>
    public async Task<bool> RunAsync(string key, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var row = db.Followers.Where(f => f.Key == key);
        return await row.Where(f => f.ConfirmedAt == null).ExecuteUpdateAsync(s => s.SetProperty(f => f.ConfirmedAt, now), cancellationToken) > 0
            || await row.AnyAsync(cancellationToken);
    }
}
