using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Counts the people of each month whose days were rolled up since. Reads the month's downloads, so the month that runs is counted anew at most every
/// <see cref="Pause"/>. Safe to repeat and to break off: a month is replaced in one transaction.
/// </summary>
public sealed class RollUpMonths(ShelfDb db, TimeProvider clock)
{
    internal TimeSpan Pause { get; init; } = TimeSpan.FromMinutes(10);

    /// <returns>How many months were counted.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var due = await DueAsync(zone, cancellationToken);
        await DropEmptyAsync(zone, cancellationToken);
        foreach (var (month, mark) in due)
            await CountAsync(month, mark, zone, cancellationToken);
        return due.Count;
    }

    /// <summary>Months that no rolled-up day is in any more: another zone's days, of which the last moved over the month's edge.</summary>
    private async Task DropEmptyAsync(DateTimeZone zone, CancellationToken cancellationToken)
    {
        var months = (await MarksAsync(zone, cancellationToken)).ConvertAll(m => m.Month);
        await db.MonthPeople.Where(p => !months.Contains(p.Month)).ExecuteDeleteAsync(cancellationToken);
    }

    internal async Task<bool> IsDueAsync(CancellationToken cancellationToken) =>
        (await DueAsync(await MarkDays.ZoneAsync(db, cancellationToken), cancellationToken)).Count > 0;

    private async Task<List<(YearMonth Month, long Mark)>> DueAsync(DateTimeZone zone, CancellationToken cancellationToken)
    {
        var known = await db.MonthPeople.AsNoTracking().Where(p => p.LibraryId == 0).ToDictionaryAsync(p => p.Month, cancellationToken);
        var now = clock.GetUtcNow();
        return (await MarksAsync(zone, cancellationToken)).FindAll(m => known.GetValueOrDefault(m.Month) is not { } row
            || (row.Mark != m.Mark && (row.RolledAt is not { } at || at > now || now - at >= Pause)));
    }

    /// <summary>Months with days that are rolled up, the newest first: the sum of their marks, and the zone, whose change makes other months of the same instants.</summary>
    private async Task<List<(YearMonth Month, long Mark)>> MarksAsync(DateTimeZone zone, CancellationToken cancellationToken)
    {
        var by = RollUpDays.ByOf(zone);
        var days = await db.DayRolls.Where(r => r.By == by && r.Rolled > 0).Select(r => new { r.Day, r.Rolled }).ToListAsync(cancellationToken);
        var zoneMark = by.Aggregate(17L, (mark, letter) => (mark * 31 + letter) % 1_000_003) << 40;
        return [.. days.GroupBy(d => d.Day.ToYearMonth()).OrderByDescending(g => g.Key).Select(g => (g.Key, zoneMark + g.Sum(d => d.Rolled)))];
    }

    private async Task CountAsync(YearMonth month, long mark, DateTimeZone zone, CancellationToken cancellationToken)
    {
        var (from, to) = (RollUpDays.StartOf(month.OnDayOfMonth(1), zone), RollUpDays.StartOf(month.OnDayOfMonth(1).PlusMonths(1), zone));
        // A tally's start is its download's, which is written once, before the first byte goes out: both tables are read where the month lies in them, and neither
        // by the ids of the other, which lie anywhere. Without the "" an index of ids would be gone by after all.
        var started = from d in db.Downloads
                      where d.StartedAt >= @from && d.StartedAt < to && d.PersonId != null && d.Why != MayDownloadWhy.Maker
                      from t in db.DownloadTallies
                      where t.StartedAt >= @from && t.StartedAt < to && t.StartedAt != null && t.StartedAt == d.StartedAt && t.DownloadId + "" == d.Id + ""
                      // A month fetched as one archive is none of one library's: its row names that of its first version.
                      select new { LibraryId = d.DropId == null ? d.LibraryId : 0, Person = d.PersonId!.Value, IsFree = d.Why == MayDownloadWhy.Free };
        // Each pair once, told apart here: PostgreSQL 15 takes minutes for that where its work_mem is too small for all of a month's, and milliseconds to hand them over.
        var ways = new HashSet<(long LibraryId, long Person, bool IsFree)>();
        await foreach (var one in started.AsAsyncEnumerable().WithCancellation(cancellationToken))
            ways.Add((one.LibraryId, one.Person, one.IsFree));
        List<MonthPeople> rows = [Of(0, ways.Select(w => (w.Person, w.IsFree))), .. ways.Where(w => w.LibraryId != 0).GroupBy(w => w.LibraryId, w => (w.Person, w.IsFree)).Select(g => Of(g.Key, g))];
        (rows[0].Mark, rows[0].RolledAt) = (mark, clock.GetUtcNow());
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await db.MonthPeople.Where(p => p.Month == month).ExecuteDeleteAsync(cancellationToken);
        db.MonthPeople.AddRange(rows);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();

        MonthPeople Of(long libraryId, IEnumerable<(long Person, bool IsFree)> who)
        {
            var (free, members) = (who.Where(w => w.IsFree).Select(w => w.Person).ToHashSet(), who.Where(w => !w.IsFree).Select(w => w.Person).ToHashSet());
            return new() { Month = month, LibraryId = libraryId, SignedIn = free.Union(members).Count(), Free = free.Count, Members = members.Count };
        }
    }
}
