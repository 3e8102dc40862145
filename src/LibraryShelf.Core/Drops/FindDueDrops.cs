using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>Which drops are to be sent now, the earliest first; and those whose trouble may be over because they were moved or called off.</summary>
public sealed class FindDueDrops(ShelfDb db, TimeProvider clock)
{
    /// <returns>None while drops are held.</returns>
    public async Task<IReadOnlyList<long>> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Drops.Where(d => (d.State == DropState.Planned && d.DueAt <= now) || d.Trouble != null)
            .Where(_ => !db.Shops.Any(s => s.HeldSince != null))
            .OrderBy(d => d.DueAt).ThenBy(d => d.Id).Select(d => d.Id).ToListAsync(cancellationToken);
    }
}
