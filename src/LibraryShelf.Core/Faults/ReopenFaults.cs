using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>
/// What a version was to mend, once that version is withdrawn: a higher one on the shelf that holds the mend stands for it; where there is
/// none, the faults are open again, and who told them hears of the next mend.
/// </summary>
internal static class ReopenFaults
{
    /// <summary>In two questions, however many faults. The caller holds a transaction.</summary>
    public static async Task RunAsync(ShelfDb db, Release withdrawn, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var mends = db.FaultReports.Where(f => f.MendedInReleaseId == withdrawn.Id);
        if (await MendsHeld.StillInAsync(db, withdrawn, cancellationToken) is { } other)
        {
            // Who was told of the one withdrawn is not told again; who was not yet, hears of the other.
            other.TellAskedAt = now;
            await mends.ExecuteUpdateAsync(s => s.SetProperty(f => f.MendedInReleaseId, other.Id), cancellationToken);
            return;
        }
        await mends.ExecuteUpdateAsync(
            s => s.SetProperty(f => f.SettledAt, (DateTimeOffset?)null).SetProperty(f => f.MendedInReleaseId, (long?)null)
                .SetProperty(f => f.ToldAt, (DateTimeOffset?)null), cancellationToken);
    }
}
