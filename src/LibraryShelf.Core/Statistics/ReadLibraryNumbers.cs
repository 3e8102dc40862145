using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Reads what was most wanted, most updated, begun and never finished, where people came from and what they looked for in vain: from rolled-up days.</summary>
public sealed class ReadLibraryNumbers(ShelfDb db, TimeProvider clock)
{
    /// <summary>A download younger than this may still go on: as long as a link's time to resume usually is.</summary>
    public static readonly Period Patience = Period.FromDays(7);

    /// <param name="range">Gives the days, from today in the shop's zone.</param>
    /// <param name="most">Of what was seen, no more rows than so many: a shelf that is found by machines has tens of thousands. 0: what was seen is not asked for.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<LibraryNumbers> RunAsync(Func<LocalDate, DayRange> range, int most, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var today = Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date;
        var days = range(today);
        var libraries = await db.Libraries.OrderBy(l => l.Title).Select(l => new { l.Id, l.Slug, l.Title }).ToListAsync(cancellationToken);
        var seen = new ReadSeen(db);
        // One more than is shown tells whether there are more.
        var hosts = most == 0 ? [] : await seen.MostAsync(SightingKind.Referrer, days, isByBox: true, most + 1L, cancellationToken);
        var searches = most == 0 ? [] : await seen.MostAsync(SightingKind.Search, days, isByBox: false, most + 1L, cancellationToken);
        var titles = libraries.ToDictionary(l => l.Id, l => l.Title);
        List<SeenFrom> referrers = [.. hosts.Take(most).Select(s => new SeenFrom(s.Word, s.LibraryId, titles.GetValueOrDefault(s.LibraryId) ?? "", s.Times))
            .OrderByDescending(s => s.Times).ThenBy(s => s.Host, StringComparer.Ordinal).ThenBy(s => s.Title, StringComparer.Ordinal)];
        // The last day of which every download is as old: that much before its end is today's first instant.
        var settled = today - Patience - Period.FromDays(1);
        return new(days, zone.Id, await BoxesAsync(libraries.ConvertAll(l => (l.Id, l.Slug, l.Title)), days, settled, cancellationToken), referrers, [.. searches.Take(most).Select(s => new SeenTimes(s.Word, s.Times))])
        {
            SettledDays = Math.Max(0, Period.DaysBetween(days.First, LocalDate.Min(days.Last, settled)) + 1),
            UncountedDays = await db.DayRolls.CountAsync(r => r.Rolled == 0, cancellationToken),
            AreMoreReferrers = hosts.Count > most,
            AreMoreSearches = searches.Count > most,
        };
    }

    private async Task<List<BoxNumbers>> BoxesAsync(List<(long Id, string Slug, string Title)> libraries, DayRange days, LocalDate settled, CancellationToken cancellationToken)
    {
        var finished = await Counts(days).GroupBy(c => new { c.LibraryId, c.Kind }).Select(g => new { g.Key.LibraryId, g.Key.Kind, Finished = g.Sum(c => c.Finished), Free = g.Sum(c => c.By == FetchedBy.Free ? c.Finished : 0) }).ToListAsync(cancellationToken);
        // Days that begin after the last settled one are none.
        var begun = await Counts(days with { Last = days.Last < settled ? days.Last : settled }).GroupBy(c => new { c.LibraryId, c.Kind })
            .Select(g => new { g.Key.LibraryId, g.Key.Kind, Started = g.Sum(c => c.Started), Ended = g.Sum(c => c.Ended), FreeStarted = g.Sum(c => c.By == FetchedBy.Free ? c.Started : 0), FreeEnded = g.Sum(c => c.By == FetchedBy.Free ? c.Ended : 0), Resumes = g.Sum(c => c.Resumes), Left = g.Sum(c => c.Left), Again = g.Sum(c => c.LeftAgain), Covered = g.Sum(c => c.LeftCovered), Length = g.Sum(c => c.LeftLength) }).ToListAsync(cancellationToken);
        var sizes = await db.Archives.Where(a => a.Kind == ArchiveKind.Full).Join(db.Releases, a => a.ReleaseId, r => r.Id, (a, r) => new { r.LibraryId, r.Number, a.Length }).ToListAsync(cancellationToken);
        var newest = sizes.GroupBy(s => s.LibraryId).ToDictionary(g => g.Key, g => g.MaxBy(s => s.Number, ReleaseNumbers.ByPrecedence)!.Length);
        return libraries.ConvertAll(l =>
        {
            var ones = begun.FindAll(b => b.LibraryId == l.Id);
            var (started, whole) = (ones.Sum(b => b.Started), ones.Find(b => b.Kind == FetchedKind.Whole));
            var freely = ones.Sum(b => b.FreeStarted);
            var (wanted, updated) = (finished.Find(f => f.LibraryId == l.Id && f.Kind == FetchedKind.Whole), finished.Find(f => f.LibraryId == l.Id && f.Kind == FetchedKind.Update));
            return new BoxNumbers(l.Id, l.Slug, l.Title, newest.GetValueOrDefault(l.Id), wanted?.Finished ?? 0, updated?.Finished ?? 0,
                started, started - ones.Sum(b => b.Ended), ones.Sum(b => b.Resumes))
            {
                Free = new(wanted?.Free ?? 0, updated?.Free ?? 0, freely, freely - ones.Sum(b => b.FreeEnded)),
                Left = new(ones.Sum(b => b.Left), ones.Sum(b => b.Again), ones.Sum(b => b.Covered), ones.Sum(b => b.Length)),
                Whole = whole is null ? BoxBegun.None : new(whole.Started, whole.Started - whole.Ended, whole.Resumes) { Left = new(whole.Left, whole.Again, whole.Covered, whole.Length) },
            };
        });

        IQueryable<FetchedCount> Counts(DayRange range) => FetchedCounts.Of(db, null, range).ByListeners().Where(c => c.DropId == 0);
    }
}
