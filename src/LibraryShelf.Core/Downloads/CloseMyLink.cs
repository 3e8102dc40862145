using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>Somebody closes a link that was made for them: it opens nothing from the next request on.</summary>
public sealed class CloseMyLink(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: there is no such link of this person's, or it opens no more; nothing was written.</returns>
    public async Task<bool> RunAsync(long personId, string? downloadId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Downloads.Where(d => d.Id == downloadId && d.PersonId == personId).Where(Download.IsOpenAt(now))
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken) == 1;
    }
}
