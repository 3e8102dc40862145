using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Adds up new download events into tallies. Running it again, or from nothing, gives the same rows: a tally depends on the
/// download's events alone, and a finish is dated by the event that completed it.
/// </summary>
public sealed class CountDownloads(ShelfDb db)
{
    /// <summary>Events looked at in one transaction, so that SQLite's writer is never held for long.</summary>
    internal int PageSize { get; init; } = 2_000;

    /// <returns>How many events were new.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        await new TakeBackProbes(db).RunAsync(cancellationToken);
        var counted = 0;
        // Both databases let one writer at a time through (Data.Postgres/OneWriter), so events become visible in the order of their
        // ids, gaps or none, and pages are counted in order: the highest id in any tally is the last event counted.
        while (await AnyAfterAsync(await LastAsync(cancellationToken), cancellationToken))
        {
            // It lets no other count through from its first read, so that no event is added up twice; asked before, because nobody is kept from writing for nothing.
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            var last = await LastAsync(cancellationToken);
            var page = await db.DownloadEvents.AsNoTracking().Where(e => e.Id > last).OrderBy(e => e.Id).Take(PageSize).ToListAsync(cancellationToken);
            await CountPageAsync(page, cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            db.ChangeTracker.Clear();
            counted += page.Count;
        }
        return counted;
    }

    private async Task<long> LastAsync(CancellationToken cancellationToken) => await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;

    private Task<bool> AnyAfterAsync(long last, CancellationToken cancellationToken) => db.DownloadEvents.AnyAsync(e => e.Id > last, cancellationToken);

    /// <summary>Tallies, the marks of the days they change, and those of people who finished one, together.</summary>
    private async Task CountPageAsync(List<DownloadEvent> page, CancellationToken cancellationToken)
    {
        var touched = await CountAsync([.. page.ToLookup(e => e.DownloadId, StringComparer.Ordinal)], cancellationToken);
        await TallyRows.WriteAsync(db, touched.Select(t => t.Tally), cancellationToken);
        var changed = touched.SelectMany(t => new[] { t.Tally.StartedAt, t.Tally.FinishedAt }).OfType<DateTimeOffset>().ToHashSet();
        changed.UnionWith(await new MarkAgain(db).RunAsync([.. touched.Where(t => t.IsNew && t.Download is not null).Select(t => t.Download!)], cancellationToken));
        await new MarkDays(db).RunAsync(changed, cancellationToken);
        await MarkPeopleAsync([.. touched.Where(t => t.IsFinishedNow).Select(t => t.Download?.PersonId).OfType<long>().Distinct()], cancellationToken);
        await new MarkFinished(db).RunAsync([.. touched.Where(t => t.IsFinishedNow && t.Download?.PersonId is not null).Select(t => t.Tally)], cancellationToken);
    }

    /// <summary>Which versions these have is worked out anew: of an account that was merged since, those of the one that stays; of a deleted one none.</summary>
    private async Task MarkPeopleAsync(long[] finished, CancellationToken cancellationToken)
    {
        var people = await db.Users.Where(p => EF.Parameter(finished).Contains(p.Id) && p.DeletedAt == null).Select(p => p.MergedIntoId ?? p.Id).Distinct().ToArrayAsync(cancellationToken);
        var marked = await db.VersionMarks.Where(m => EF.Parameter(people).Contains(m.PersonId)).Select(m => m.PersonId).ToListAsync(cancellationToken);
        db.VersionMarks.AddRange(people.Except(marked).Select(p => new VersionMark { PersonId = p }));
        await db.SaveChangesAsync(cancellationToken);
    }

    private sealed record Counted(DownloadTally Tally, FetchedBefore? Download, bool IsNew, bool IsFinishedNow);

    /// <summary>Which downloads is one parameter of the questions, however many they are: a parameter for each would make a statement anew each time.</summary>
    /// <param name="downloads">The new events of each, in order.</param>
    /// <param name="cancellationToken">Stops between two questions.</param>
    private async Task<List<Counted>> CountAsync(IGrouping<string, DownloadEvent>[] downloads, CancellationToken cancellationToken)
    {
        var ids = Array.ConvertAll(downloads, d => d.Key);
        var tallies = await db.DownloadTallies.AsNoTracking().Where(t => EF.Parameter(ids).Contains(t.DownloadId)).ToDictionaryAsync(t => t.DownloadId, StringComparer.Ordinal, cancellationToken);
        var known = await (from d in db.Downloads
                           join a in db.Archives on d.ArchiveId equals a.Id
                           where EF.Parameter(ids).Contains(d.Id)
                           select new { a.Length, d.StartedAt, Download = new FetchedBefore(d.Id, d.ArchiveId, d.PersonId, d.Visitor) })
            .ToDictionaryAsync(d => d.Download.Id, StringComparer.Ordinal, cancellationToken);
        var counted = new List<Counted>();
        foreach (var events in downloads)
        {
            if (!tallies.TryGetValue(events.Key, out var tally))
                tally = new DownloadTally { DownloadId = events.Key };
            var download = known.GetValueOrDefault(events.Key);
            var (wasStarted, wasFinished) = (tally.StartedAt is not null, tally.FinishedAt is not null);
            if (download is not null && tally.FinishedAt is null)
                Cover(tally, await CoveredAsync(tally, download.Length, cancellationToken), events);
            Sum(tally, events, download?.StartedAt);
            // Whole, though in pieces no larger than a probe.
            if (tally.FinishedAt is not null) tally.StartedAt ??= download?.StartedAt ?? tally.FinishedAt;
            tally.LastEventId = events.Last().Id;
            counted.Add(new(tally, download?.Download, !wasStarted && tally.StartedAt is not null, !wasFinished && tally.FinishedAt is not null));
        }
        return counted;
    }

    private static void Sum(DownloadTally tally, IEnumerable<DownloadEvent> events, DateTimeOffset? firstRequestAt)
    {
        foreach (var one in events)
        {
            if (one.IsEvidence) tally.Resumes++;
            else tally.BytesServed += one.To - one.From;
            var isProbe = one.To - one.From <= DownloadTally.MostProbeBytes;
            if (one.BeginsAnswer && !isProbe) tally.Requests++;
            if (one.IsEvidence || !isProbe) tally.StartedAt ??= firstRequestAt ?? one.At;
        }
    }

    /// <summary>What this download's events up to the last one counted cover.</summary>
    private async Task<Coverage> CoveredAsync(DownloadTally tally, long length, CancellationToken cancellationToken)
    {
        if (tally.Parts is { } parts)
            return Coverage.Read(length, parts);
        var coverage = new Coverage(length);
        // Counted before the parts were kept.
        if (tally.LastEventId > 0)
            await foreach (var one in db.DownloadEvents.AsNoTracking().Where(e => e.DownloadId == tally.DownloadId && e.Id <= tally.LastEventId)
                .AsAsyncEnumerable().WithCancellation(cancellationToken))
                coverage.Add(one.From, one.To);
        return coverage;
    }

    /// <summary>Lays the new events beside the others, in order, until the archive is covered.</summary>
    private static void Cover(DownloadTally tally, Coverage coverage, IEnumerable<DownloadEvent> events)
    {
        foreach (var one in events)
        {
            coverage.Add(one.From, one.To);
            if (!coverage.IsWhole) continue;
            tally.FinishedAt = one.At;
            break;
        }
        tally.BytesCovered = coverage.Bytes;
        tally.Parts = tally.FinishedAt is null ? coverage.Text : null;
    }
}
