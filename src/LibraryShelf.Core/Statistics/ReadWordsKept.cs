using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Reads since which day hosts and searches are kept: they go with the events (<see cref="Upkeep.SweepSpent"/>), and what is gone is not the same as none.</summary>
public sealed class ReadWordsKept(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <returns>Of the shop's calendar; null: the shelf knows of no day before, so nothing was let go.</returns>
    public async Task<LocalDate?> RunAsync(CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var kept = Instant.FromDateTimeOffset(clock.GetUtcNow().AddMonths(-settings.Value.Privacy.KeepEventsMonths)).InZone(zone).Date;
        return await ReadDaysBeside.EarliestAsync(db, cancellationToken) < kept ? kept : null;
    }
}
