using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Takes from the downloads of old days what told their visitors apart (<see cref="Download.Visitor"/>), day by day and the oldest first. What was counted by it stays:
/// how many visitors the day had (<see cref="KeptVisitors"/>), which of them were robots by what they did (<see cref="Download.IsRobot"/>), and which downloads were
/// double clicks (<see cref="DownloadTally.IsAgain"/>). Safe to repeat and to break off: a day's figures are kept in one transaction before the first goes.
/// </summary>
internal sealed class LetVisitorsGo(ShelfDb db)
{
    /// <summary>Downloads in one statement, so that no other writer waits long: on PostgreSQL each is written anew in all of its indexes, and 5,000 take half a second and more.</summary>
    internal int Batch { get; init; } = 2_000;

    /// <param name="before">Of days that were over by then, and every link that was used in them: so long are events kept, and counting them again has to tell who pressed twice.</param>
    /// <param name="cancellationToken">Stops between two statements.</param>
    /// <returns>Of how many downloads it went. A day that is still to be counted holds up itself and those after it.</returns>
    public async Task<int> RunAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var by = RollUpDays.ByOf(zone);
        if (await RollUpDays.IsOtherAsync(db, by, cancellationToken) || await IsUncountedAsync(before, cancellationToken))
            return 0;
        var end = DayOf(before, zone);
        if (await FirstAsync(end, zone, cancellationToken) is not { } first)
            return 0;
        // Where a run was broken off within the first and the shop moved west since, some of its downloads lie before it by now: zones are up to 26 hours apart.
        var (gone, since) = (0, RollUpDays.StartOf(first.PlusDays(-2), zone));
        // Nothing was started in a day that has no row there. With a clock that is years ahead it may be one to come: kept as a day without visitors, it would never count any.
        foreach (var day in await db.DayRolls.Where(r => r.Day >= first && r.Day < end).OrderBy(r => r.Day).Select(r => r.Day).ToListAsync(cancellationToken))
        {
            var (from, to) = (RollUpDays.StartOf(day, zone), RollUpDays.StartOf(day.PlusDays(1), zone));
            if (await MayGoOnAsync(from, to, before, cancellationToken) || !await KeepAsync(day, by, from, to, cancellationToken))
                return gone;
            gone += await ForgetAllAsync(since, to, cancellationToken);
            since = to;
        }
        return gone + await ForgetAllAsync(since, RollUpDays.StartOf(end, zone), cancellationToken);
    }

    private static LocalDate DayOf(DateTimeOffset at, DateTimeZone zone) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    private async Task<bool> IsUncountedAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var last = await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;
        return await db.DownloadEvents.AnyAsync(e => e.Id > last && e.At < before, cancellationToken);
    }

    private Task<bool> MayGoOnAsync(DateTimeOffset from, DateTimeOffset to, DateTimeOffset before, CancellationToken cancellationToken) =>
        db.Downloads.AnyAsync(d => d.StartedAt >= from && d.StartedAt < to && d.FinishBy >= before && d.Visitor != null, cancellationToken);

    /// <summary>The last one that was begun, which may have been broken off, or that of the first download of a visitor; null: there is none.</summary>
    private async Task<LocalDate?> FirstAsync(LocalDate end, DateTimeZone zone, CancellationToken cancellationToken) =>
        await db.KeptVisitors.Where(k => k.Day < end).OrderByDescending(k => k.Day).Select(k => (LocalDate?)k.Day).FirstOrDefaultAsync(cancellationToken)
        ?? (await db.Downloads.Where(d => d.Visitor != null).OrderBy(d => d.MadeAt).Select(d => (DateTimeOffset?)d.MadeAt).FirstOrDefaultAsync(cancellationToken) is { } made ? DayOf(made, zone) : null);

    /// <returns>False: the day, or the next, in which its downloads may have been finished, is still to be rolled up.</returns>
    private async Task<bool> KeepAsync(LocalDate day, string by, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await db.KeptVisitors.AnyAsync(k => k.Day == day, cancellationToken))
            return true;
        var next = day.PlusDays(1);
        if (await db.DayRolls.AnyAsync(r => (r.Day == day || r.Day == next) && (r.Rolled != r.Changed || r.By != by), cancellationToken))
            return false;
        var programs = await (from t in db.DownloadTallies
                              where t.StartedAt >= @from && t.StartedAt < to
                              join d in db.Downloads on t.DownloadId equals d.Id
                              where d.PersonId == null && d.Visitor != null
                              group d by d.Visitor! into g
                              where g.Count() > RollUpDays.MostByAPerson
                              select g.Key).ToArrayAsync(cancellationToken);
        if (programs.Length > 0)
            await db.Downloads.Where(d => d.StartedAt >= from && d.StartedAt < to && d.PersonId == null && d.Visitor != null && EF.Parameter(programs).Contains(d.Visitor))
                .ExecuteUpdateAsync(s => s.SetProperty(d => d.IsRobot, true), cancellationToken);
        var kept = (await db.DayPeople.AsNoTracking().Where(p => p.Day == day).ToListAsync(cancellationToken)).ConvertAll(p => new KeptVisitors { Day = day, LibraryId = p.LibraryId, Visitors = p.People - p.SignedIn });
        db.KeptVisitors.AddRange(kept.Where(k => k.LibraryId != 0 && k.Visitors > 0));
        db.KeptVisitors.Add(kept.Find(k => k.LibraryId == 0) ?? new KeptVisitors { Day = day });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return true;
    }

    /// <summary>Of what was started then, and of links that were made then and never used.</summary>
    private async Task<int> ForgetAllAsync(DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken) =>
        await ForgetAsync(db.Downloads.Where(d => d.StartedAt >= from && d.StartedAt < to), cancellationToken)
        + await ForgetAsync(db.Downloads.Where(d => d.MadeAt >= from && d.MadeAt < to && (d.StartedAt == null || d.StartedAt < to)), cancellationToken);

    private async Task<int> ForgetAsync(IQueryable<Download> downloads, CancellationToken cancellationToken)
    {
        for (var gone = 0; ;)
        {
            var ids = await downloads.Where(d => d.Visitor != null).Select(d => d.Id).Take(Batch).ToArrayAsync(cancellationToken);
            if (ids.Length == 0)
                return gone;
            gone += await db.Downloads.Where(d => EF.Parameter(ids).Contains(d.Id)).ExecuteUpdateAsync(s => s.SetProperty(d => d.Visitor, (string?)null), cancellationToken);
        }
    }
}
