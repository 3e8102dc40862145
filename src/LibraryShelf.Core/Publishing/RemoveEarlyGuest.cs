using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

public enum RemoveEarlyGuestOutcome
{
    Removed,
    /// <summary>That person was not among them (any more); nothing was changed.</summary>
    NotAmongThem,
}

/// <summary>Takes one person off those who have a version early. A link they made already may be finished; close it to stop that too.</summary>
public sealed class RemoveEarlyGuest(ShelfDb db)
{
    public async Task<RemoveEarlyGuestOutcome> RunAsync(long releaseId, long personId, CancellationToken cancellationToken) =>
        await db.EarlyGuests.Where(g => g.ReleaseId == releaseId && g.PersonId == personId).ExecuteDeleteAsync(cancellationToken) > 0
            ? RemoveEarlyGuestOutcome.Removed
            : RemoveEarlyGuestOutcome.NotAmongThem;
}
