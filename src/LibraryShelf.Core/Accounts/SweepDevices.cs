using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Forgets devices that ended long ago, and those whose cookie has run out unseen.</summary>
public sealed class SweepDevices(ShelfDb db, TimeProvider clock)
{
    /// <summary>So long after a device was signed out its row can still tell that it was.</summary>
    public static readonly TimeSpan KeptAfterEnd = TimeSpan.FromDays(90);

    /// <summary>A cookie was renewed at most this much later than its row says it was seen.</summary>
    private static readonly TimeSpan Slack = TimeSpan.FromHours(1);

    /// <returns>How many were forgotten.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var (ended, unseen) = (now - KeptAfterEnd, now - Device.LivesUnseen - Slack);
        var old = db.Devices.Where(d => d.EndedAt < ended || (d.EndedAt == null && d.SeenAt < unseen));
        // Nearly always there are none, and looking needs no turn at writing.
        return await old.AnyAsync(cancellationToken) ? await old.ExecuteDeleteAsync(cancellationToken) : 0;
    }
}
