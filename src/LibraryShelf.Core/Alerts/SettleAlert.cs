using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>Says that it is over; true when it stood. Asked after every job that went well, so it only writes when there is something to write.</summary>
public sealed class SettleAlert(ShelfDb db, TimeProvider clock)
{
    public async Task<bool> RunAsync(AlertKind kind, string subject, CancellationToken cancellationToken)
    {
        var standing = db.Alerts.Where(a => a.Kind == kind && a.Subject == subject && a.SettledAt == null);
        if (!await standing.AnyAsync(cancellationToken))
            return false;
        var now = clock.GetUtcNow();
        return await standing.ExecuteUpdateAsync(s => s.SetProperty(a => a.SettledAt, now), cancellationToken) == 1;
    }
}
