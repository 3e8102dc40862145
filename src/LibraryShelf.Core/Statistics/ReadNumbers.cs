using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Reads the figures of downloads, in the shop's days, from what <see cref="RollUpDays"/> rolled up. The maker's own fetches are left out: she tries
/// her archives, and the numbers are about her listeners. So are robots. docs/counting.md has the same sums as SQL.
/// </summary>
public sealed class ReadNumbers(ShelfDb db, TimeProvider clock)
{
    /// <param name="librarySlug">One box alone; null, or a slug that is not there: all of them.</param>
    /// <param name="range">Gives the days, from today in the shop's zone.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<DownloadNumbers> RunAsync(string? librarySlug, Func<LocalDate, DayRange> range, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var days = range(Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date);
        var libraries = await db.Libraries.OrderBy(l => l.Title).Select(l => new { l.Id, l.Slug, l.Title }).ToListAsync(cancellationToken);
        var chosen = libraries.Find(l => l.Slug == librarySlug);
        var sums = await SumsAsync(chosen?.Id, days, cancellationToken);
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => new { s.Currency, s.GigabytePrice }).FirstOrDefaultAsync(cancellationToken);
        return new(days, zone.Id, chosen is null ? null : new(chosen.Slug, chosen.Title), libraries.ConvertAll(l => new NumbersBox(l.Slug, l.Title)),
            await DaysAsync(chosen?.Id, days, cancellationToken), await BoxesAsync(sums, cancellationToken),
            sums.GroupBy(s => s.By).ToDictionary(g => g.Key, g => g.Aggregate(DownloadSums.None, (sum, s) => sum + s.Sums)),
            await MonthsAsync(chosen?.Id ?? 0, days, cancellationToken), await PeopleAsync(chosen?.Id ?? 0, days, cancellationToken), shop?.Currency ?? "",
            shop?.GigabytePrice is { } price ? new(price, shop.Currency) : null,
            await db.DayRolls.CountAsync(r => r.Rolled == 0, cancellationToken));
    }

    private sealed record Summed(FetchedThing Of, FetchedBy By, DownloadSums Sums);

    private async Task<List<Summed>> SumsAsync(long? libraryId, DayRange days, CancellationToken cancellationToken) =>
        (await FetchedCounts.Of(db, libraryId, days).GroupBy(c => new { c.ReleaseId, c.DropId, c.By })
            .Select(g => new
            {
                g.Key.ReleaseId, g.Key.DropId, g.Key.By, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished),
                Requests = g.Sum(c => c.Requests), Resumes = g.Sum(c => c.Resumes), Bytes = g.Sum(c => c.Bytes),
            }).ToListAsync(cancellationToken))
            .ConvertAll(s => new Summed(FetchedThing.From(s.ReleaseId, s.DropId), s.By, new(s.Started, s.Finished, s.Requests, s.Resumes, s.Bytes)));

    private async Task<List<DayFigures>> DaysAsync(long? libraryId, DayRange days, CancellationToken cancellationToken)
    {
        var sums = libraryId is null
            ? db.DaySums.Where(s => s.Day >= days.First && s.Day <= days.Last).Select(s => new { s.Day, s.Started, s.Finished })
            : FetchedThing.Listeners(db, libraryId, days).GroupBy(c => c.Day).Select(g => new { Day = g.Key, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished) });
        var byDay = await sums.ToDictionaryAsync(s => s.Day, cancellationToken);
        return [.. Enumerable.Range(0, days.Days).Select(days.First.PlusDays)
            .Select(day => byDay.TryGetValue(day, out var s) ? new DayFigures(day, s.Started, s.Finished) : new DayFigures(day, 0, 0))];
    }

    private async Task<List<BoxFigures>> BoxesAsync(List<Summed> sums, CancellationToken cancellationToken)
    {
        var names = await FetchedThing.NamesAsync(db, cancellationToken);
        return
        [
            .. sums.Where(s => s.By is FetchedBy.Free or FetchedBy.Members && s.Sums.Started + s.Sums.Finished > 0 && names.ContainsKey(s.Of))
                .GroupBy(s => (names[s.Of].Slug, names[s.Of].Title))
                .Select(box => new BoxFigures(box.Key.Slug, box.Key.Title, box.Sum(s => s.Sums.Started), box.Sum(s => s.Sums.Finished),
                [
                    .. box.GroupBy(s => names[s.Of].Number, StringComparer.Ordinal)
                        .Select(v => new VersionFigures(v.Key, v.Sum(s => s.Sums.Started), v.Sum(s => s.Sums.Finished), v.Where(s => s.By == FetchedBy.Free).Sum(s => s.Sums.Finished)))
                        .OrderByDescending(v => v.Number, ReleaseNumbers.ByPrecedence),
                ]))
                .OrderByDescending(b => b.Finished).ThenByDescending(b => b.Started).ThenBy(b => b.Title, StringComparer.Ordinal),
        ];
    }

    private Task<List<PeopleOfMonth>> MonthsAsync(long libraryId, DayRange days, CancellationToken cancellationToken)
    {
        var (first, last) = (days.First.ToYearMonth(), days.Last.ToYearMonth());
        return db.MonthPeople.Where(p => p.LibraryId == libraryId && p.Month >= first && p.Month <= last && p.SignedIn > 0)
            .OrderBy(p => p.Month).Select(p => new PeopleOfMonth(p.Month, p.SignedIn, p.Free, p.Members)).ToListAsync(cancellationToken);
    }

    private async Task<List<PeopleOfDay>> PeopleAsync(long libraryId, DayRange days, CancellationToken cancellationToken)
    {
        var known = await db.DayPeople.Where(p => p.LibraryId == libraryId && p.Day >= days.First && p.Day <= days.Last)
            .Select(p => new PeopleOfDay(p.Day, p.People, p.SignedIn, p.Free, p.Members)).ToDictionaryAsync(p => p.Day, cancellationToken);
        return [.. Enumerable.Range(0, days.Days).Select(days.First.PlusDays).Select(day => known.GetValueOrDefault(day) ?? new(day, 0, 0, 0, 0))];
    }
}
