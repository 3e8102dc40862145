using System.Diagnostics;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Adds up new download events into tallies. Running it again, or from nothing, gives the same rows: a tally depends on the
/// download's events alone, and a finish is dated by the event that completed it.
/// </summary>
public sealed class CountDownloads(ShelfDb db, TimeProvider? clock = null)
{
    /// <summary>So many events at first are looked at in one transaction.</summary>
    private const int FirstPage = 2_000;

    /// <summary>A larger page meets less of what the one before it read and wrote.</summary>
    internal static readonly Pace Pages = new(Smallest: 250, Largest: 8_000);

    /// <summary>Events looked at in one transaction. Null: as many as the writer is not held for long by.</summary>
    internal int? PageSize { get; init; }

    /// <returns>How many events were new.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        db.IsWide = true;
        await new TakeBackProbes(db).RunAsync(cancellationToken);
        var far = new CountingNotes(db, clock ?? TimeProvider.System);
        try
        {
            return await CountAllAsync(far, cancellationToken);
        }
        finally
        {
            await far.EndAsync();
        }
    }

    private async Task<int> CountAllAsync(CountingNotes far, CancellationToken cancellationToken)
    {
        var (counted, size) = (0, PageSize ?? FirstPage);
        // Both databases let one writer at a time through (Data.Postgres/OneWriter), so events become visible in the order of their
        // ids, gaps or none, and pages are counted in order: the highest id in any tally is the last event counted.
        while (await AnyAfterAsync(await LastAsync(cancellationToken), cancellationToken))
        {
            // It lets no other count through from its first read, so that no event is added up twice; asked before, because nobody is kept from writing for nothing.
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            var begun = Stopwatch.GetTimestamp();
            var last = await LastAsync(cancellationToken);
            var page = await db.DownloadEvents.AsNoTracking().Where(e => e.Id > last).OrderBy(e => e.Id).Take(size).ToListAsync(cancellationToken);
            await CountPageAsync(page, last, cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            db.ChangeTracker.Clear();
            counted += page.Count;
            if (page.Count == size)
                await far.SayAsync(counted, page[^1].Id, cancellationToken);
            size = PageSize ?? Pages.After(size, Stopwatch.GetElapsedTime(begun));
        }
        return counted;
    }

    private async Task<long> LastAsync(CancellationToken cancellationToken) => await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;

    private Task<bool> AnyAfterAsync(long last, CancellationToken cancellationToken) => db.DownloadEvents.AnyAsync(e => e.Id > last, cancellationToken);

    /// <summary>Tallies, the marks of the days they change, and those of people who finished one, together.</summary>
    private async Task CountPageAsync(List<DownloadEvent> page, long before, CancellationToken cancellationToken)
    {
        // By their names, as they stand in the indexes: what is asked for and written next then often lies on the page before it.
        var touched = await CountAsync([.. page.GroupBy(e => e.DownloadId, StringComparer.Ordinal).OrderBy(g => g.Key, StringComparer.Ordinal)], cancellationToken);
        await TallyRows.WriteAsync(db, touched.Select(t => t.Tally), cancellationToken);
        var changed = touched.SelectMany(t => new[] { t.Tally.StartedAt, t.Tally.FinishedAt }).OfType<DateTimeOffset>().ToHashSet();
        changed.UnionWith(await new MarkAgain(db).RunAsync([.. touched.Where(t => t.Known is not null && t.Tally.StartedAt is not null)
            .Select(t => (new StartedOnce(t.Known!.Download, t.Tally.StartedAt!.Value, t.Tally.FinishedAt, t.Tally.IsAgain), t.IsNew))], before, cancellationToken));
        await new MarkDays(db).RunAsync(changed, cancellationToken);
        await new MarkFinished(db).RunAsync([.. touched.Where(t => t.IsFinishedNow && t.Known?.AccountId is not null)
            .Select(t => new FinishedNow(t.Known!.AccountId!.Value, t.Known.LibraryId, t.Known.DropId, t.Known.Why, t.Tally.FinishedAt!.Value))], cancellationToken);
    }

    private sealed record Counted(DownloadTally Tally, Known? Known, bool IsNew, bool IsFinishedNow);

    /// <summary>Of a download, all that counting asks for. <paramref name="AccountId"/>: of an account that was merged since, the one that stays; of a deleted one none.</summary>
    private sealed record Known(FetchedBefore Download, long Length, DateTimeOffset? StartedAt, long LibraryId, long? DropId, MayDownloadWhy Why, long? AccountId);

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
                           join p in db.Users.Where(p => p.DeletedAt == null) on d.PersonId equals (long?)p.Id into people
                           from p in people.DefaultIfEmpty()
                           select new Known(new FetchedBefore(d.Id, d.ArchiveId, d.PersonId, d.Visitor), a.Length, d.StartedAt, d.LibraryId, d.DropId, d.Why, p!.MergedIntoId ?? (long?)p!.Id))
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
            counted.Add(new(tally, download, !wasStarted && tally.StartedAt is not null, !wasFinished && tally.FinishedAt is not null));
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

/// <summary>Tells how far the counting of new events is, where they are more than a page. How many there are is asked once.</summary>
internal sealed class CountingNotes(ShelfDb db, TimeProvider clock)
{
    private readonly ProgressNotes notes = new(db, clock, ProgressNotes.Count);
    private int? all;

    public async Task SayAsync(int counted, long last, CancellationToken cancellationToken)
    {
        all ??= counted + await db.DownloadEvents.CountAsync(e => e.Id > last, cancellationToken);
        await notes.SayAsync(Progress.OfThings(counted, Math.Max(counted, all.Value)), cancellationToken);
    }

    /// <summary>Mostly there is nothing to take back.</summary>
    public Task EndAsync() => all is null ? Task.CompletedTask : notes.EndAsync();
}
