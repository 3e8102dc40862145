using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <summary>At start, before any job runs: what ran when the program died runs no more.</summary>
public sealed class EndBrokenRuns(ShelfDb db, TimeProvider clock)
{
    /// <summary>For the maker.</summary>
    internal static string Words => T("The shelf ended while it ran. What was done is kept, and it goes on by itself.");

    /// <returns>How many there were.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        // How far it was is of no work any more.
        if (await db.WorkProgress.AnyAsync(cancellationToken))
            await db.WorkProgress.ExecuteDeleteAsync(cancellationToken);
        // Nearly always there are none, and looking needs no turn at writing.
        if (!await db.JobRuns.AnyAsync(r => r.EndedAt == null, cancellationToken))
            return 0;
        var now = clock.GetUtcNow();
        return await db.JobRuns.Where(r => r.EndedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(r => r.EndedAt, now).SetProperty(r => r.Trouble, Words), cancellationToken);
    }
}
