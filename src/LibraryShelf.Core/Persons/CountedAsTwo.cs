using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>What was counted while downloads stood under an account that another one is now: their days are counted again, with them the months, and every drop.</summary>
internal sealed class CountedAsTwo(ShelfDb db)
{
    /// <summary>In the caller's transaction, which lets no other writer through.</summary>
    public async Task MarkAsync(IQueryable<Download> downloads, CancellationToken cancellationToken)
    {
        var started = await downloads.Join(db.DownloadTallies, d => d.Id, t => t.DownloadId, (_, t) => t.StartedAt).Where(at => at != null).ToListAsync(cancellationToken);
        await new MarkDays(db).RunAsync(started.OfType<DateTimeOffset>(), cancellationToken);
        await db.DropUptakes.ExecuteUpdateAsync(s => s.SetProperty(u => u.Changed, u => u.Changed + 1), cancellationToken);
    }
}
