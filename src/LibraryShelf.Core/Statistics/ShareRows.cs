using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>What readers of shares ask the database, in a few questions a box.</summary>
internal sealed class ShareRows(ShelfDb db)
{
    internal sealed record Box(long Id, string Slug, string Title, DateTimeOffset? OutAt, int Versions);

    /// <summary>Looks at a few boxes alone, however many there are; one with a single version has nothing to tell apart.</summary>
    public async Task<Box?> MostHadAsync(List<Box> boxes, CancellationToken cancellationToken)
    {
        var newest = boxes.OrderByDescending(b => b.Versions > 1).ThenByDescending(b => b.OutAt).Take(6).ToList();
        var ids = newest.ConvertAll(b => b.Id);
        var people = await db.VersionMoves.Where(m => ids.Contains(m.LibraryId) && m.FromReleaseId == 0).GroupBy(m => m.LibraryId)
            .Select(g => new { g.Key, People = g.Sum(m => m.People) }).ToDictionaryAsync(g => g.Key, g => g.People, cancellationToken);
        return newest.MaxBy(b => people.GetValueOrDefault(b.Id));
    }

    public async Task<(DateTimeZone Zone, LocalDate Today)> TodayAsync(TimeProvider clock, CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        return (zone, Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date);
    }

    /// <summary>Those with a version that came out.</summary>
    public async Task<List<Box>> BoxesAsync(CancellationToken cancellationToken) =>
        (await db.Releases.Where(r => r.PublishedAt != null).GroupBy(r => new { r.Library.Id, r.Library.Slug, r.Library.Title })
            .Select(g => new { g.Key.Id, g.Key.Slug, g.Key.Title, OutAt = g.Max(r => r.PublishedAt), Versions = g.Count() }).ToListAsync(cancellationToken))
            .ConvertAll(b => new Box(b.Id, b.Slug, b.Title, b.OutAt, b.Versions));

    public async Task<VersionShares> OfAsync(
        Box box, IReadOnlyList<NumbersBox> boxes, DayRange range, DateTimeZone zone, bool withUptakes, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.Where(r => r.LibraryId == box.Id && r.SealedAt != null)
            .Select(r => new { r.State, Known = new KnownVersion(r.Id, r.LibraryId, r.Number, r.PublishedAt) }).ToListAsync(cancellationToken);
        List<ShareVersion> all = [.. rows.Select(r => r.Known).OrderBy(v => v.Number, ReleaseNumbers.ByPrecedence)
            .Select(v => new ShareVersion(v.Id, v.Number, v.OutAt is { } at ? Instant.FromDateTimeOffset(at).InZone(zone).Date : null))];
        var days = VersionSums.Days(await MovesAsync(box.Id, range.First, range.Last, cancellationToken), all, range.First, range.Last);
        var shown = Enumerable.Range(0, all.Count).Where(i => all[i].OutOn <= range.Last || days.Exists(d => d.People[i] > 0)).ToList();
        var onShelf = rows.Where(r => r.State == ReleaseState.Published).Select(r => r.Known.Id).ToHashSet();
        return new(
            new(box.Slug, box.Title), boxes, range, zone.Id, shown.ConvertAll(i => all[i]), all.FindLast(v => onShelf.Contains(v.Id))?.Id,
            days.ConvertAll(d => new ShareDay(d.Day, shown.ConvertAll(i => d.People[i]))),
            withUptakes ? VersionSums.Uptakes(await db.VersionMoves.AsNoTracking().Where(m => m.LibraryId == box.Id).ToListAsync(cancellationToken), rows.ConvertAll(r => r.Known), zone) : []);
    }

    /// <summary>What came before the first day is one sum.</summary>
    private async Task<List<MoveSum>> MovesAsync(long libraryId, LocalDate first, LocalDate last, CancellationToken cancellationToken)
    {
        var before = await db.VersionMoves.Where(m => m.LibraryId == libraryId && m.Day < first).GroupBy(m => new { m.FromReleaseId, m.ReleaseId })
            .Select(g => new { g.Key.FromReleaseId, g.Key.ReleaseId, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
        var since = await db.VersionMoves.Where(m => m.LibraryId == libraryId && m.Day >= first && m.Day <= last).GroupBy(m => new { m.Day, m.FromReleaseId, m.ReleaseId })
            .Select(g => new { g.Key.Day, g.Key.FromReleaseId, g.Key.ReleaseId, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
        return [.. before.Select(m => new MoveSum(null, m.FromReleaseId, m.ReleaseId, m.People)), .. since.Select(m => new MoveSum(m.Day, m.FromReleaseId, m.ReleaseId, m.People))];
    }
}
