using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Rolls up each day that changed since it was rolled up last: reads its downloads and their tallies, and writes its counts anew. Safe to repeat and to break off:
/// a day's counts are replaced in one transaction. When the shop's time zone or the rules changed, all days are made anew.
/// </summary>
public sealed class RollUpDays(ShelfDb db, TimeProvider clock)
{
    /// <summary>Raised when the same downloads come to other counts.</summary>
    internal const int Rules = 3;

    /// <summary>A visitor who starts more downloads in a day is a program: the largest shelf has fewer libraries that a person would take in a day. The house's own rule.</summary>
    public const int MostByAPerson = 40;

    /// <summary>
    /// A busy day is not rolled up more often: reading a hundred thousand downloads takes about a second, and they come each second. The sweep of each
    /// minute finds what was left.
    /// </summary>
    internal TimeSpan Pause { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>Downloads started in a day that make it a busy one.</summary>
    private const int Busy = 2_000;

    /// <returns>How many days were rolled up.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var by = ByOf(zone);
        await MarkAllIfOtherAsync(by, zone, cancellationToken);
        // The newest first: it is looked at most.
        var days = await db.DayRolls.AsNoTracking().Where(r => r.Rolled != r.Changed).OrderByDescending(r => r.Day).ToListAsync(cancellationToken);
        var rolled = 0;
        foreach (var day in days)
        {
            if (await IsTooSoonAsync(day, cancellationToken))
                continue;
            await RollUpAsync(day, by, zone, cancellationToken);
            rolled++;
        }
        return rolled;
    }

    private async Task<bool> IsTooSoonAsync(DayRoll day, CancellationToken cancellationToken) =>
        day.RolledAt is { } at && clock.GetUtcNow() - at is { Ticks: >= 0 } since && since < Pause
        && await db.DayCounts.Where(c => c.Day == day.Day).SumAsync(c => c.Started, cancellationToken) > Busy;

    /// <summary>What days are rolled up by: these rules, and days of this zone.</summary>
    internal static string ByOf(DateTimeZone zone) => $"{Rules} {zone.Id}";

    /// <summary>Whether there are days that were rolled up otherwise, or downloads of which no day was ever rolled up.</summary>
    internal static async Task<bool> IsOtherAsync(ShelfDb db, string by, CancellationToken cancellationToken) =>
        await db.DayRolls.AnyAsync(r => r.By != "" && r.By != by, cancellationToken)
        || (!await db.DayRolls.AnyAsync(r => r.By == by, cancellationToken) && await db.DownloadTallies.AnyAsync(t => t.StartedAt != null, cancellationToken));

    /// <summary>Days of another zone have other bounds, so their counts go, and each day that any download touches is marked.</summary>
    private async Task MarkAllIfOtherAsync(string by, DateTimeZone zone, CancellationToken cancellationToken)
    {
        if (!await IsOtherAsync(db, by, cancellationToken))
            return;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await db.DayRolls.ExecuteDeleteAsync(cancellationToken);
        await CountedDay.DeleteAllAsync(db, cancellationToken);
        var first = await db.DownloadTallies.MinAsync(t => t.StartedAt, cancellationToken);
        var last = new[] { await db.DownloadTallies.MaxAsync(t => t.StartedAt, cancellationToken), await db.DownloadTallies.MaxAsync(t => t.FinishedAt, cancellationToken) }.Max();
        if (first is { } a && last is { } b)
            for (var day = DayOf(a, zone); day <= DayOf(b, zone); day = day.PlusDays(1))
                db.DayRolls.Add(new DayRoll { Day = day, Changed = 1 });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }

    private static LocalDate DayOf(DateTimeOffset at, DateTimeZone zone) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    private async Task RollUpAsync(DayRoll roll, string by, DateTimeZone zone, CancellationToken cancellationToken)
    {
        var day = roll.Day;
        var (from, to) = (StartOf(day, zone), StartOf(day.PlusDays(1), zone));
        var fetched = await FetchedAsync(from, to, cancellationToken);
        var programs = await ProgramsAsync(fetched, from, to, zone, cancellationToken);
        // Asked after the downloads were read: they are kept before the first is let go.
        var kept = await KeptVisitors.OfAsync(db, day, cancellationToken);
        var (counts, people) = (DayTotals.CountsOf(day, fetched, programs, from, to), DayTotals.PeopleOf(day, fetched, programs, from, to, kept));
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await CountedDay.ReplaceAsync(db, day, counts, people, cancellationToken);
        // What was counted while this was read raised the mark, and the day is rolled up once more.
        await db.DayRolls.Where(r => r.Day == day).ExecuteUpdateAsync(s => s
            .SetProperty(r => r.Rolled, roll.Changed).SetProperty(r => r.By, by).SetProperty(r => r.RolledAt, now), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }

    /// <summary>
    /// Visitors who started more than a person would, in this day, or, of those whose downloads of an earlier day were finished in it, in that one: a download
    /// is a robot's or not for good.
    /// </summary>
    private async Task<HashSet<string>> ProgramsAsync(List<Fetched> fetched, DateTimeOffset from, DateTimeOffset to, DateTimeZone zone, CancellationToken cancellationToken)
    {
        var unknown = fetched.Where(f => f is { PersonId: null, Visitor: not null }).ToList();
        var programs = unknown.Where(f => f.StartedAt >= from && f.StartedAt < to).GroupBy(f => f.Visitor!, StringComparer.Ordinal)
            .Where(g => g.Count() > MostByAPerson).Select(g => g.Key).ToHashSet(StringComparer.Ordinal);
        foreach (var before in unknown.Where(f => f.StartedAt < from).GroupBy(f => DayOf(f.StartedAt!.Value, zone)).ToList())
        {
            var (first, last) = (StartOf(before.Key, zone), StartOf(before.Key.PlusDays(1), zone));
            foreach (var visitors in before.Select(f => f.Visitor!).Distinct(StringComparer.Ordinal).Chunk(500))
                programs.UnionWith(await (from t in db.DownloadTallies
                                          where t.StartedAt >= first && t.StartedAt < last
                                          join d in db.Downloads on t.DownloadId equals d.Id
                                          where d.PersonId == null && visitors.Contains(d.Visitor)
                                          group d by d.Visitor! into g
                                          where g.Count() > MostByAPerson
                                          select g.Key).ToListAsync(cancellationToken));
        }
        return programs;
    }

    internal static DateTimeOffset StartOf(LocalDate day, DateTimeZone zone) => day.AtStartOfDayInZone(zone).ToDateTimeOffset().ToUniversalTime();

    private async Task<List<Fetched>> FetchedAsync(DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var fetched = await (from t in db.DownloadTallies
                             where (t.StartedAt >= @from && t.StartedAt < to) || (t.FinishedAt >= @from && t.FinishedAt < to)
                             join d in db.Downloads on t.DownloadId equals d.Id
                             select new Fetched(d.LibraryId, d.ReleaseId, d.FromReleaseId, d.DropId, d.PersonId, d.Visitor, d.Why, d.IsRobot,
                                 t.StartedAt, t.FinishedAt, t.IsAgain, t.Requests, t.Resumes, t.BytesServed, d.ArchiveId, t.BytesCovered)).ToListAsync(cancellationToken);
        var archives = fetched.Where(f => f.FinishedAt is null).Select(f => f.ArchiveId).Distinct().ToArray();
        var lengths = await db.Archives.Where(a => EF.Parameter(archives).Contains(a.Id)).Select(a => new { a.Id, a.Length }).ToDictionaryAsync(a => a.Id, a => a.Length, cancellationToken);
        return fetched.ConvertAll(f => f.FinishedAt is null ? f with { Length = lengths.GetValueOrDefault(f.ArchiveId) } : f);
    }
}

/// <summary>A download as the day's totals look at it.</summary>
internal sealed record Fetched(
    long LibraryId, long ReleaseId, long? FromReleaseId, long? DropId, long? PersonId, string? Visitor, MayDownloadWhy Why, bool IsRobot,
    DateTimeOffset? StartedAt, DateTimeOffset? FinishedAt, bool IsAgain, int Requests, int Resumes, long Bytes, long ArchiveId, long Covered)
{
    /// <summary>Of its archive; 0: it is finished, or the archive is not there any more.</summary>
    public long Length { get; init; }

    /// <summary>It was begun, is no double click, and is not finished by now.</summary>
    public bool IsLeft => !IsAgain && FinishedAt is null;
}

/// <summary>The sums of one day: no database, no clock. docs/counting.md has the same rules in words and as SQL.</summary>
internal static class DayTotals
{
    /// <param name="day">The day.</param>
    /// <param name="fetched">All downloads started or finished in it.</param>
    /// <param name="programs">Visitors who are robots by what they do.</param>
    /// <param name="from">Its first instant.</param>
    /// <param name="to">The next day's.</param>
    public static List<DayCount> CountsOf(LocalDate day, IReadOnlyList<Fetched> fetched, HashSet<string> programs, DateTimeOffset from, DateTimeOffset to)
    {
        var counts = new Dictionary<(long ReleaseId, long DropId, FetchedKind Kind, FetchedBy By), DayCount>();
        foreach (var one in fetched)
        {
            var (kind, by) = (KindOf(one), ByOf(one, programs));
            var key = (one.ReleaseId, one.DropId ?? 0, kind, by);
            if (!counts.TryGetValue(key, out var count))
                counts[key] = count = new DayCount { Day = day, LibraryId = one.LibraryId, ReleaseId = one.ReleaseId, DropId = one.DropId ?? 0, Kind = kind, By = by };
            if (IsIn(one.StartedAt, from, to))
            {
                count.Started += one.IsAgain ? 0 : 1;
                count.Ended += one.IsAgain || one.FinishedAt is null ? 0 : 1;
                count.Requests += one.Requests;
                count.Resumes += one.Resumes;
                count.Bytes += one.Bytes;
                if (one is { IsLeft: true, Length: > 0 })
                {
                    count.Left++;
                    count.LeftAgain += one.Requests > 1 || one.Resumes > 0 ? 1 : 0;
                    count.LeftCovered += one.Covered;
                    count.LeftLength += one.Length;
                }
            }
            count.Finished += IsIn(one.FinishedAt, from, to) && !one.IsAgain ? 1 : 0;
        }
        return [.. counts.Values];
    }

    /// <summary>Of each library with any, and of all. A month fetched as one archive is none of one library's: its row names that of its first version.</summary>
    /// <param name="day">The day.</param>
    /// <param name="fetched">As in <see cref="CountsOf"/>.</param>
    /// <param name="programs">The same.</param>
    /// <param name="from">The same.</param>
    /// <param name="to">The same.</param>
    /// <param name="kept">Its visitors by library, where they are told apart no more; null: they are.</param>
    public static List<DayPeople> PeopleOf(
        LocalDate day, IReadOnlyList<Fetched> fetched, HashSet<string> programs, DateTimeOffset from, DateTimeOffset to, IReadOnlyDictionary<long, int>? kept)
    {
        // Who is not signed in has no right of their own.
        var known = fetched.Where(f => IsIn(f.StartedAt, from, to) && (f.PersonId is not null || (kept is null && f.Visitor is not null)) && ByOf(f, programs) is FetchedBy.Free or FetchedBy.Members)
            .Select(f => (LibraryId: f.DropId is null ? f.LibraryId : 0, Person: f.PersonId ?? 0, Visitor: f.PersonId is null ? f.Visitor! : "", IsFree: f.PersonId is null || f.Why == MayDownloadWhy.Free)).Distinct().ToList();
        var each = known.Where(k => k.LibraryId != 0).ToLookup(k => k.LibraryId, k => (k.Person, k.Visitor, k.IsFree));
        var libraries = each.Select(g => g.Key).Union(kept?.Keys.Where(id => id != 0) ?? []);
        return [.. libraries.Select(id => Of(id, [.. each[id]])), Of(0, [.. known.Select(k => (k.Person, k.Visitor, k.IsFree)).Distinct()])];

        DayPeople Of(long libraryId, List<(long Person, string Visitor, bool IsFree)> ways)
        {
            var (people, visitors) = (ways.DistinctBy(w => (w.Person, w.Visitor)).ToList(), kept?.GetValueOrDefault(libraryId) ?? 0);
            return new()
            {
                Day = day, LibraryId = libraryId, People = people.Count + visitors, SignedIn = people.Count(p => p.Person != 0),
                Free = ways.Count(w => w.IsFree) + visitors, Members = ways.Count(w => !w.IsFree),
            };
        }
    }

    private static bool IsIn(DateTimeOffset? at, DateTimeOffset from, DateTimeOffset to) => at >= from && at < to;

    private static FetchedKind KindOf(Fetched one) =>
        one.DropId is not null ? FetchedKind.Month : one.FromReleaseId is not null ? FetchedKind.Update : FetchedKind.Whole;

    private static FetchedBy ByOf(Fetched one, HashSet<string> programs) => one.Why switch
    {
        MayDownloadWhy.Maker => FetchedBy.Maker,
        // A member's own link is never a robot's, whatever fetches it.
        _ when one.PersonId is null && (one.IsRobot || (one.Visitor is not null && programs.Contains(one.Visitor))) => FetchedBy.Robots,
        MayDownloadWhy.Free => FetchedBy.Free,
        _ => FetchedBy.Members,
    };
}
