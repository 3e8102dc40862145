using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>Who follows by this link does not any more; the row goes, and with it the address.</summary>
public sealed class StopFollowing(ShelfDb db)
{
    /// <returns>False: nobody followed by it.</returns>
    public async Task<bool> RunAsync(string key, CancellationToken cancellationToken) =>
        await db.Followers.Where(f => f.Key == key).ExecuteDeleteAsync(cancellationToken) > 0;
}
