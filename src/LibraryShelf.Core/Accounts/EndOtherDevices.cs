using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Signs somebody out everywhere but here. The cookies there are refused at their next check, within a minute.</summary>
public sealed class EndOtherDevices(ShelfDb db, TimeProvider clock)
{
    /// <param name="keptId">This device's; null: its cookie names none yet, and it is given one at its next check.</param>
    /// <returns>How many ended.</returns>
    public async Task<int> RunAsync(long personId, long? keptId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Devices.Where(d => d.PersonId == personId && d.EndedAt == null && d.Id != keptId)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.EndedAt, now), cancellationToken);
    }
}
