using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Signs somebody out on one of their own devices, this one or another. Its cookie is refused at its next check, within a minute.</summary>
public sealed class EndDevice(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: there is none of that number that is theirs and has not ended; nothing was written.</returns>
    public async Task<bool> RunAsync(long personId, long deviceId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Devices.Where(d => d.Id == deviceId && d.PersonId == personId && d.EndedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.EndedAt, now), cancellationToken) == 1;
    }
}
