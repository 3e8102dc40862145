using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

public enum HoldListeningOutcome
{
    /// <summary>It is not made until <see cref="GoOnListening"/>; where it is being made, that ends within some seconds.</summary>
    Held,
    /// <summary>Nothing was changed: it is made, or is not to be made.</summary>
    NothingToStop,
}

/// <summary>
/// Not now: what can be heard of a version is not made, or not any further, until its maker says so. What an earlier version has to be heard stays, the measurements too; of the
/// sounds nothing is kept, because all of them are written at one loudness, which is known at the end.
/// </summary>
public sealed class HoldListening(ShelfDb db, TimeProvider clock)
{
    public async Task<HoldListeningOutcome> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (!(await new FindUnheard(db, clock).RunAsync(cancellationToken)).Releases.Contains(releaseId))
            return HoldListeningOutcome.NothingToStop;
        var now = clock.GetUtcNow();
        return await db.Releases.Where(r => r.Id == releaseId && r.ListenHeldAt == null).ExecuteUpdateAsync(s => s.SetProperty(r => r.ListenHeldAt, now), cancellationToken) > 0
            ? HoldListeningOutcome.Held : HoldListeningOutcome.NothingToStop;
    }
}
