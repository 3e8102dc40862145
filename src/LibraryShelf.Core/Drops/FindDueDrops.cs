using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// Which drops are to be looked at now, the earliest first: those that are due, those whose trouble may be over because they were moved or called off, and
/// those that ask though they are not due any more, because the clock was put back.
/// </summary>
public sealed class FindDueDrops(ShelfDb db, TimeProvider clock)
{
    /// <returns>None while drops are held.</returns>
    public async Task<IReadOnlyList<long>> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Drops.Where(d => (d.State == DropState.Planned && d.DueAt <= now) || d.Trouble != null || (d.AsksSince != null && d.DueAt > now))
            .Where(_ => !db.Shops.Any(s => s.HeldSince != null))
            .OrderBy(d => d.DueAt).ThenBy(d => d.Id).Select(d => d.Id).ToListAsync(cancellationToken);
    }
}
