using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Adds what was seen to the days' rows and their months', in one transaction. What can't be written now stays in memory for the next time. When the database refuses something, what
/// was seen is written in halves until that alone is left, and let go: one word keeps no others from being written.
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
        var left = new Stack<KeyValuePair<Sightings.Seen, int>[]>([[.. sightings.Take()]]);
        var kept = 0;
        while (left.TryPop(out var some))
        {
            try
            {
                kept += await KeepAsync(some, cancellationToken);
            }
            catch (DbUpdateException fault) when (IsRefusal(fault))
            {
                db.ChangeTracker.Clear();
                if (some.Length == 1)
                    continue;
                left.Push(some[..(some.Length / 2)]);
                left.Push(some[(some.Length / 2)..]);
            }
            catch
            {
                foreach (var one in left.Append(some))
                    sightings.GiveBack(one);
                throw;
            }
        }
        return kept;
    }

    /// <summary>Of this very row, whenever it is tried: no full disk, no connection that went, and no other writer in the way (SQLite's 5 BUSY and 6 LOCKED).</summary>
    private static bool IsRefusal(DbUpdateException fault) => DiskTrouble.WordsOf(fault) is null && fault.InnerException is DbException { IsTransient: false } refused
        && !refused.Message.StartsWith("SQLite Error 5:", StringComparison.Ordinal) && !refused.Message.StartsWith("SQLite Error 6:", StringComparison.Ordinal);

    private async Task<int> KeepAsync(KeyValuePair<Sightings.Seen, int>[] taken, CancellationToken cancellationToken)
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
        foreach (var day in byDay)
            await SeenMonths.AddUpAsync(db, day.Key.Day, day.Key.Kind, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return kept;
    }
}
