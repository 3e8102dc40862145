using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>The figures of downloads whole, for a file: one line a day and version with any, in the order of days, titles and numbers.</summary>
public sealed class ReadNumbersLines(ShelfDb db, TimeProvider clock)
{
    /// <param name="librarySlug">One box alone; null, or a slug that is not there: all of them.</param>
    /// <param name="range">Gives the days, from today in the shop's zone.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<IReadOnlyList<NumbersLine>> RunAsync(string? librarySlug, Func<LocalDate, DayRange> range, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var days = range(Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date);
        var chosen = await db.Libraries.Where(l => l.Slug == librarySlug).Select(l => (long?)l.Id).FirstOrDefaultAsync(cancellationToken);
        var sums = await FetchedThing.Listeners(db, chosen, days).GroupBy(c => new { c.Day, c.ReleaseId, c.DropId })
            .Select(g => new { g.Key.Day, g.Key.ReleaseId, g.Key.DropId, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished) }).ToListAsync(cancellationToken);
        var names = await FetchedThing.NamesAsync(db, cancellationToken);
        return
        [
            .. sums.Where(s => s.Started + s.Finished > 0 && names.ContainsKey(FetchedThing.From(s.ReleaseId, s.DropId)))
                .Select(s => (s, name: names[FetchedThing.From(s.ReleaseId, s.DropId)]))
                .Select(l => new NumbersLine(l.s.Day, l.name.Slug, l.name.Title, l.name.Number, l.s.Started, l.s.Finished))
                // A month's archive is listed by its first version, and that may be another one after a change.
                .GroupBy(l => (l.Day, l.Slug, l.Title, l.Number)).Select(g => g.First() with { Started = g.Sum(l => l.Started), Finished = g.Sum(l => l.Finished) })
                .OrderBy(l => l.Day).ThenBy(l => l.Title, StringComparer.Ordinal).ThenBy(l => l.Number, ReleaseNumbers.ByPrecedence),
        ];
    }
}
