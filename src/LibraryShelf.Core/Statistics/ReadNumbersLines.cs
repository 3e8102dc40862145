using System.Runtime.CompilerServices;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>The figures of downloads whole, for a file: one line a day and version with any, in the order of days, titles and numbers. Ten years are never in memory at once.</summary>
public sealed class ReadNumbersLines(ShelfDb db, TimeProvider clock)
{
    /// <summary>Days asked for at once: whoever takes the lines slowly keeps no question open.</summary>
    internal const int DaysAtOnce = 92;

    /// <param name="librarySlug">One box alone; null, or a slug that is not there: all of them.</param>
    /// <param name="range">Gives the days, from today in the shop's zone.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async IAsyncEnumerable<NumbersLine> RunAsync(string? librarySlug, Func<LocalDate, DayRange> range, [EnumeratorCancellation] CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var days = range(Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date);
        var chosen = await db.Libraries.Where(l => l.Slug == librarySlug).Select(l => (long?)l.Id).FirstOrDefaultAsync(cancellationToken);
        var names = await FetchedThing.NamesAsync(db, cancellationToken);
        for (var first = days.First; first <= days.Last; first = first.PlusDays(DaysAtOnce))
        {
            var last = first.PlusDays(DaysAtOnce - 1);
            foreach (var line in await SomeAsync(chosen, new(first, last < days.Last ? last : days.Last), names, cancellationToken))
                yield return line;
        }
    }

    private async Task<List<NumbersLine>> SomeAsync(
        long? libraryId, DayRange days, Dictionary<FetchedThing, (string Slug, string Title, string Number)> names, CancellationToken cancellationToken)
    {
        var sums = await FetchedThing.Listeners(db, libraryId, days).GroupBy(c => new { c.Day, c.ReleaseId, c.DropId, c.By })
            .Select(g => new { g.Key.Day, g.Key.ReleaseId, g.Key.DropId, g.Key.By, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished) }).ToListAsync(cancellationToken);
        return
        [
            .. sums.Where(s => s.Started + s.Finished > 0 && names.ContainsKey(FetchedThing.From(s.ReleaseId, s.DropId)))
                // A month's archive is listed by its first version, and that may be another one after a change.
                .GroupBy(s => (s.Day, Of: FetchedThing.From(s.ReleaseId, s.DropId)))
                .Select(g =>
                {
                    var ((_, title, _), free) = (names[g.Key.Of], g.Where(s => s.By == FetchedBy.Free).ToList());
                    return new NumbersLine(g.Key.Day, names[g.Key.Of].Slug, title, names[g.Key.Of].Number,
                        g.Sum(s => s.Started), g.Sum(s => s.Finished), free.Sum(s => s.Started), free.Sum(s => s.Finished));
                })
                .OrderBy(l => l.Day).ThenBy(l => l.Title, StringComparer.Ordinal).ThenBy(l => l.Number, ReleaseNumbers.ByPrecedence),
        ];
    }
}
