using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>What stands, newest case first; at most <see cref="Most"/>, and how many there are in all.</summary>
public sealed record StandingAlerts(IReadOnlyList<Alert> Newest, int Count);

/// <summary>Reads what stands, for the workbench.</summary>
public sealed class ReadAlerts(ShelfDb db)
{
    public const int Most = 20;

    public async Task<StandingAlerts> RunAsync(CancellationToken cancellationToken)
    {
        var standing = db.Alerts.AsNoTracking().Where(a => a.SettledAt == null);
        var newest = await standing.OrderByDescending(a => a.RaisedAt).ThenByDescending(a => a.Id).Take(Most).ToListAsync(cancellationToken);
        return new(newest, newest.Count < Most ? newest.Count : await standing.CountAsync(cancellationToken));
    }
}
