using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Something that people came for: a version, or a month's drop.</summary>
/// <param name="Day">Of the shop's calendar, on which it came to the shelf.</param>
/// <param name="Box">Title of the version's box; "" for a drop.</param>
/// <param name="Number">Of the version; "" for a drop.</param>
/// <param name="Month">Of the drop; null: it is a version.</param>
public sealed record CameOut(LocalDate Day, string Box, string Number, YearMonth? Month);

/// <summary>Reads what came out in some days of the shop's: for who looks at how many downloaded in them. What was withdrawn since came out all the same.</summary>
public sealed class ReadCameOut(ShelfDb db)
{
    /// <param name="slug">Of one box its versions alone; null, or one that is not there: drops, and the versions of all boxes that came with none.</param>
    /// <param name="range">The days.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    /// <returns>In the order in which they came, drops before versions of the same day.</returns>
    public async Task<IReadOnlyList<CameOut>> RunAsync(string? slug, DayRange range, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var (from, until) = (zone.AtStartOfDay(range.First).ToDateTimeOffset(), zone.AtStartOfDay(range.Last.PlusDays(1)).ToDateTimeOffset());
        long? box = slug is null ? null : await db.Libraries.Where(l => l.Slug == slug).Select(l => (long?)l.Id).FirstOrDefaultAsync(cancellationToken);
        var versions = await db.Releases.Where(r => r.PublishedAt >= from && r.PublishedAt < until && (box == null || r.LibraryId == box))
            .Select(r => new { r.Id, At = r.PublishedAt!.Value, r.Library.Title, r.Number }).ToListAsync(cancellationToken);
        var came = new List<(DateTimeOffset At, CameOut What)>();
        if (box is null)
        {
            var drops = await db.Drops.Where(d => d.State == DropState.Sent && d.SentAt >= from && d.SentAt < until).Select(d => new { d.Id, d.Month, At = d.SentAt!.Value }).ToListAsync(cancellationToken);
            came.AddRange(drops.Select(d => (d.At, new CameOut(DayOf(d.At), "", "", d.Month))));
            var ids = drops.ConvertAll(d => d.Id);
            var within = (await db.DropReleases.Where(r => ids.Contains(r.DropId)).Select(r => new { r.ReleaseId, r.DropId }).ToListAsync(cancellationToken)).ToDictionary(r => r.ReleaseId, r => r.DropId);
            versions.RemoveAll(v => within.TryGetValue(v.Id, out var id) && DayOf(drops.Find(d => d.Id == id)!.At) == DayOf(v.At));
        }
        came.AddRange(versions.Select(v => (v.At, new CameOut(DayOf(v.At), v.Title, v.Number, null))));
        return [.. came.OrderBy(c => c.What.Day).ThenByDescending(c => c.What.Month is not null).ThenBy(c => c.At).Select(c => c.What)];

        LocalDate DayOf(DateTimeOffset at) => Instant.FromDateTimeOffset(at).InZone(zone).Date;
    }
}
