using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Adds what was seen to the days' rows, in one transaction. What can't be written now stays in memory for the next time; what the database refuses is let go, so
/// that one word keeps no others from being written.
/// </summary>
public sealed class KeepSightings(ShelfDb db, Sightings sightings)
{
    /// <summary>Different words of a kind that one day keeps; the rest of the day's are counted together.</summary>
    internal const int MostWordsADay = 300;

    /// <returns>How many different things were written down.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        if (sightings.IsEmpty)
            return 0;
        var taken = sightings.Take();
        try
        {
            return await KeepAsync(taken, cancellationToken);
        }
        catch (Exception fault) when (fault is not DbUpdateException || DiskTrouble.IsFull(fault))
        {
            sightings.GiveBack(taken);
            throw;
        }
    }

    private async Task<int> KeepAsync(IReadOnlyDictionary<Sightings.Seen, int> taken, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var byDay = taken.GroupBy(t => (Day: Instant.FromDateTimeOffset(t.Key.Quarter).InZone(zone).Date, t.Key.Kind)).ToList();
        var kept = 0;
        foreach (var day in byDay)
        {
            var rows = await db.Sightings.Where(s => s.Day == day.Key.Day && s.Kind == day.Key.Kind).ToDictionaryAsync(s => (s.LibraryId, s.Word), cancellationToken);
            foreach (var (one, times) in day.OrderByDescending(t => t.Value))
            {
                var key = (one.LibraryId, one.Word);
                if (!rows.ContainsKey(key) && rows.Count >= MostWordsADay)
                    key = (0, Sightings.Others);
                if (!rows.TryGetValue(key, out var row))
                    db.Sightings.Add(rows[key] = row = new Sighting { Day = day.Key.Day, Kind = day.Key.Kind, LibraryId = key.LibraryId, Word = key.Word });
                row.Times += times;
                kept++;
            }
        }
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return kept;
    }
}
