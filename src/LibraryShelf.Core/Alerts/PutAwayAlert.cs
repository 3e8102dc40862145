using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

public enum PutAwayOutcome
{
    PutAway,
    /// <summary>It is over already, or came back as a new case since the page was opened; nothing was changed.</summary>
    NotThisCase,
}

/// <summary>
/// The maker has read it and wants it off her table. A disk that is nearly full and a backup that is old can't be put away: they would be
/// back a minute later, and go by themselves once there is room, or a newer one.
/// </summary>
public sealed class PutAwayAlert(ShelfDb db, TimeProvider clock)
{
    /// <param name="id">Which row.</param>
    /// <param name="raisedAt">Which case of it: <see cref="Alert.RaisedAt"/> as the page showed it.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<PutAwayOutcome> RunAsync(long id, DateTimeOffset raisedAt, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var put = await db.Alerts
            .Where(a => a.Id == id && a.RaisedAt == raisedAt && a.SettledAt == null && a.Kind != AlertKind.DiskNearlyFull && a.Kind != AlertKind.BackupOld)
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.SettledAt, now), cancellationToken);
        return put == 1 ? PutAwayOutcome.PutAway : PutAwayOutcome.NotThisCase;
    }
}
