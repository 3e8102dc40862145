using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>What can be heard of a version may be made after all: wake that.</summary>
public sealed class GoOnListening(ShelfDb db)
{
    /// <returns>False: it was not held.</returns>
    public async Task<bool> RunAsync(long releaseId, CancellationToken cancellationToken) =>
        await db.Releases.Where(r => r.Id == releaseId && r.ListenHeldAt != null).ExecuteUpdateAsync(s => s.SetProperty(r => r.ListenHeldAt, (DateTimeOffset?)null), cancellationToken) > 0;
}
