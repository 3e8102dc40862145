using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Somebody has just signed in on a browser: its row, whose number goes into the cookie.</summary>
public sealed class StartDevice(ShelfDb db, TimeProvider clock)
{
    /// <param name="words">What the browser is, as a person would call it.</param>
    /// <param name="before">
    /// The row of whoever was signed in on this browser until now; null: nobody. The same person keeps it while it has not ended; another's ends.
    /// </param>
    public async Task<long> RunAsync(long personId, string words, long? before, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var known = await db.Devices.SingleOrDefaultAsync(d => d.Id == before && d.EndedAt == null, cancellationToken);
        if (known?.PersonId == personId)
            return known.Id;
        if (known is not null)
            known.EndedAt = now;
        var device = new Device { PersonId = personId, Words = words, SignedInAt = now, SeenAt = now };
        db.Devices.Add(device);
        await db.SaveChangesAsync(cancellationToken);
        return device.Id;
    }
}
