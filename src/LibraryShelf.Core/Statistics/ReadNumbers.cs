using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Reads the figures of the Numbers page, in the shop's days, from what <see cref="RollUpDays"/> rolled up. The maker's own fetches are left out: she tries
/// her archives, and the numbers are about her listeners. So are robots. docs/counting.md has the same sums as SQL.
/// </summary>
public sealed class ReadNumbers(ShelfDb db, TimeProvider clock)
{
    public const int MostDays = 366;

    /// <param name="librarySlug">One box alone; null, or a slug that is not there: all of them.</param>
    /// <param name="days">How many days up to and with today, 1 to <see cref="MostDays"/>; others are brought into these bounds.</param>
    public async Task<Numbers> RunAsync(string? librarySlug, int days, CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var today = Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date;
        var first = today.PlusDays(1 - Math.Clamp(days, 1, MostDays));
        var boxes = await db.Libraries.OrderBy(l => l.Title).Select(l => new NumbersBox(l.Slug, l.Title)).ToListAsync(cancellationToken);
        var chosen = boxes.Find(b => b.Slug == librarySlug);
        var counts = await CountAsync(chosen, first, today, cancellationToken);
        return new(first, today, zone.Id, chosen, boxes, await NameAsync(counts, cancellationToken));
    }

    /// <summary>A version, or, with <paramref name="DropId"/>, the whole month that begins with it: no one version's download, it has lines of its own.</summary>
    private sealed record Of(long ReleaseId, long? DropId);

    private async Task<Dictionary<(LocalDate Day, Of Of), (int Started, int Finished)>> CountAsync(
        NumbersBox? chosen, LocalDate first, LocalDate last, CancellationToken cancellationToken)
    {
        var counts = db.DayCounts.Where(c => c.Day >= first && c.Day <= last && (c.By == FetchedBy.Free || c.By == FetchedBy.Members));
        if (chosen is not null) counts = counts.Where(c => c.DropId == 0 && db.Libraries.Any(l => l.Id == c.LibraryId && l.Slug == chosen.Slug));
        var sums = await counts.GroupBy(c => new { c.Day, c.ReleaseId, c.DropId })
            .Select(g => new { g.Key.Day, g.Key.ReleaseId, g.Key.DropId, Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished) }).ToListAsync(cancellationToken);
        return sums.Where(s => s.Started + s.Finished > 0)
            .ToDictionary(s => (s.Day, new Of(s.ReleaseId, s.DropId == 0 ? null : s.DropId)), s => (s.Started, s.Finished));
    }

    private async Task<List<NumbersLine>> NameAsync(
        Dictionary<(LocalDate Day, Of Of), (int Started, int Finished)> counts, CancellationToken cancellationToken)
    {
        var names = await db.Releases.Select(r => new { r.Id, r.Library.Slug, r.Library.Title, r.Number })
            .ToDictionaryAsync(r => new Of(r.Id, null), r => (r.Slug, r.Title, r.Number), cancellationToken);
        foreach (var drop in await db.Drops.AsNoTracking().ToListAsync(cancellationToken))
            foreach (var key in counts.Keys.Select(k => k.Of).Where(o => o.DropId == drop.Id))
                names[key] = ("", NumbersLine.WholeMonths, YearMonthPattern.Iso.Format(drop.Month));
        return
        [
            .. counts.Where(c => names.ContainsKey(c.Key.Of))
                .Select(c => (c.Key.Day, name: names[c.Key.Of], c.Value))
                .Select(c => new NumbersLine(c.Day, c.name.Slug, c.name.Title, c.name.Number, c.Value.Started, c.Value.Finished))
                .OrderBy(l => l.Day).ThenBy(l => l.Title, StringComparer.Ordinal).ThenBy(l => l.Number, ReleaseNumbers.ByPrecedence),
        ];
    }
}
