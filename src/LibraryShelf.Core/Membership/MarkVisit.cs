using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Somebody looks at what is theirs: keeps when, so that the next visit can tell what came out since this one.</summary>
public sealed class MarkVisit(ShelfDb db, TimeProvider clock)
{
    /// <summary>A look this much later than the one before it is another visit.</summary>
    public static readonly TimeSpan EndsAfter = TimeSpan.FromMinutes(30);

    /// <summary>Looks closer together are not written down one by one.</summary>
    private static readonly TimeSpan Exactly = TimeSpan.FromMinutes(1);

    /// <param name="counts">False: nobody sees it yet (a browser that fetches ahead), so nothing is written.</param>
    /// <returns>The last moment of the visit before this one; null: there was none.</returns>
    public async Task<DateTimeOffset?> RunAsync(long personId, bool counts, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var seen = await db.Users.Where(p => p.Id == personId).Select(p => new { p.VisitedAt, p.VisitedBefore }).SingleOrDefaultAsync(cancellationToken);
        if (seen is null)
            return null;
        var before = seen.VisitedAt < now - EndsAfter ? seen.VisitedAt : seen.VisitedBefore;
        if (counts && !(seen.VisitedAt > now - Exactly))
            // Told by what was read: of two looks at once one begins the visit, and the other's words are the same.
            await db.Users.Where(p => p.Id == personId && p.VisitedAt == seen.VisitedAt)
                .ExecuteUpdateAsync(s => s.SetProperty(p => p.VisitedAt, now).SetProperty(p => p.VisitedBefore, before), cancellationToken);
        return before;
    }
}
