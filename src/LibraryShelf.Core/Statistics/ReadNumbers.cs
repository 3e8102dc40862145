using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Reads the figures of the Numbers page, in the shop's days. The maker's own fetches are left out: she tries her archives,
/// and the numbers are about her listeners. docs/counting.md has the same sums as SQL.
/// </summary>
public sealed class ReadNumbers(ShelfDb db, TimeProvider clock)
{
    public const int MostDays = 366;

    /// <param name="librarySlug">One box alone; null, or a slug that is not there: all of them.</param>
    /// <param name="days">How many days up to and with today, 1 to <see cref="MostDays"/>; others are brought into these bounds.</param>
    public async Task<Numbers> RunAsync(string? librarySlug, int days, CancellationToken cancellationToken)
    {
        var zone = await ZoneAsync(cancellationToken);
        var today = Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date;
        var first = today.PlusDays(1 - Math.Clamp(days, 1, MostDays));
        var from = first.AtStartOfDayInZone(zone).ToDateTimeOffset().ToUniversalTime();
        var boxes = await db.Libraries.OrderBy(l => l.Title).Select(l => new NumbersBox(l.Slug, l.Title)).ToListAsync(cancellationToken);
        var chosen = boxes.Find(b => b.Slug == librarySlug);
        var counts = await CountAsync(chosen, from, zone, cancellationToken);
        return new(first, today, zone.Id, chosen, boxes, await NameAsync(counts, cancellationToken));
    }

    /// <summary>A version, or, with <paramref name="DropId"/>, the whole month that begins with it: no one version's download, it has lines of its own.</summary>
    private sealed record Fetched(long ReleaseId, long? DropId);

    private async Task<DateTimeZone> ZoneAsync(CancellationToken cancellationToken)
    {
        var name = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).FirstOrDefaultAsync(cancellationToken);
        return (name is null ? null : DateTimeZoneProviders.Tzdb.GetZoneOrNull(name)) ?? DateTimeZone.Utc;
    }

    private async Task<Dictionary<(LocalDate Day, Fetched Of), (int Started, int Finished)>> CountAsync(
        NumbersBox? chosen, DateTimeOffset from, DateTimeZone zone, CancellationToken cancellationToken)
    {
        var downloads = db.Downloads.Where(d => d.Why != MayDownloadWhy.Maker);
        if (chosen is not null) downloads = downloads.Where(d => d.DropId == null && db.Libraries.Any(l => l.Id == d.LibraryId && l.Slug == chosen.Slug));
        var started = await downloads.Where(d => d.StartedAt >= from)
            .Select(d => new { d.ReleaseId, d.DropId, At = d.StartedAt }).ToListAsync(cancellationToken);
        var finished = await (from d in downloads
                              join t in db.DownloadTallies on d.Id equals t.DownloadId
                              where t.FinishedAt >= @from
                              select new { d.ReleaseId, d.DropId, At = t.FinishedAt }).ToListAsync(cancellationToken);
        var counts = new Dictionary<(LocalDate, Fetched), (int Started, int Finished)>();
        foreach (var one in started) Add(one.At!.Value, new(one.ReleaseId, one.DropId), 1, 0);
        foreach (var one in finished) Add(one.At!.Value, new(one.ReleaseId, one.DropId), 0, 1);
        return counts;

        void Add(DateTimeOffset at, Fetched of, int start, int finish)
        {
            var key = (Instant.FromDateTimeOffset(at).InZone(zone).Date, of);
            var sofar = counts.GetValueOrDefault(key);
            counts[key] = (sofar.Started + start, sofar.Finished + finish);
        }
    }

    private async Task<List<NumbersLine>> NameAsync(
        Dictionary<(LocalDate Day, Fetched Of), (int Started, int Finished)> counts, CancellationToken cancellationToken)
    {
        var names = await db.Releases.Select(r => new { r.Id, r.Library.Slug, r.Library.Title, r.Number })
            .ToDictionaryAsync(r => new Fetched(r.Id, null), r => (r.Slug, r.Title, r.Number), cancellationToken);
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
