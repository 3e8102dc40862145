using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>What readers of shares ask the database, in a few questions a box.</summary>
internal sealed class ShareRows(ShelfDb db)
{
    internal sealed record Box(long Id, string Slug, string Title, DateTimeOffset? OutAt, int Versions);

    /// <summary>Looks at a few boxes and days alone, however many there are; a box with a single version has nothing to tell apart.</summary>
    public async Task<Box?> BusiestAsync(List<Box> boxes, LocalDate today, CancellationToken cancellationToken)
    {
        var newest = boxes.OrderByDescending(b => b.Versions > 1).ThenByDescending(b => b.OutAt).Take(6).ToList();
        var (ids, lately) = (newest.ConvertAll(b => b.Id), today.PlusDays(-60));
        var people = await db.VersionMoves.Where(m => ids.Contains(m.LibraryId) && m.Day >= lately).GroupBy(m => m.LibraryId)
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

    /// <param name="box">Which.</param>
    /// <param name="boxes">That can be chosen.</param>
    /// <param name="range">Which days.</param>
    /// <param name="zone">The shop's.</param>
    /// <param name="uptakes">Of so many versions, those that came out last, how they were taken up.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<VersionShares> OfAsync(Box box, IReadOnlyList<NumbersBox> boxes, DayRange range, DateTimeZone zone, int uptakes, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.Where(r => r.LibraryId == box.Id && r.SealedAt != null)
            .Select(r => new { r.State, Known = new KnownVersion(r.Id, r.LibraryId, r.Number, r.PublishedAt), SealedAt = r.SealedAt!.Value }).ToListAsync(cancellationToken);
        rows = [.. rows.OrderBy(r => r.Known.Number, ReleaseNumbers.ByPrecedence)];
        var all = rows.ConvertAll(r => new ShareVersion(r.Known.Id, r.Known.Number, DayOf(r.Known.OutAt, zone)));
        var days = VersionSums.Days(await StandAsync(box.Id, cancellationToken), await MovesAsync(box.Id, range.First, cancellationToken), all, range);
        var onShelf = rows.Where(r => r.State == ReleaseState.Published).Select(r => r.Known.Id).ToHashSet();
        var latest = all.FindLast(v => onShelf.Contains(v.Id))?.Id;
        // What is the latest today is asked of days before it came out too.
        var shown = Enumerable.Range(0, all.Count).Where(i => all[i].OutOn <= range.Last || all[i].Id == latest || days.Exists(d => d.People[i] > 0)).ToList();
        return new(
            new(box.Slug, box.Title), boxes, range, zone.Id, shown.ConvertAll(i => all[i]), latest,
            days.ConvertAll(d => new ShareDay(d.Day, shown.ConvertAll(i => d.People[i]))),
            uptakes == 0 ? [] : await UptakesAsync(box.Id, rows.ConvertAll(r => r.Known), rows.ConvertAll(r => DayOf(r.SealedAt, zone)!.Value), zone, uptakes, cancellationToken));
    }

    /// <summary>How many have each version as their newest: all who came to it, without who went on from it. People themselves are two to three times as many rows, and become more.</summary>
    private async Task<Dictionary<long, int>> StandAsync(long libraryId, CancellationToken cancellationToken)
    {
        var moves = await db.VersionMoves.Where(m => m.LibraryId == libraryId).GroupBy(m => new { m.FromReleaseId, m.ReleaseId })
            .Select(g => new { g.Key.FromReleaseId, g.Key.ReleaseId, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
        return moves.Select(m => (m.ReleaseId, m.People)).Concat(moves.Where(m => m.FromReleaseId != 0).Select(m => (ReleaseId: m.FromReleaseId, People: -m.People)))
            .GroupBy(m => m.ReleaseId, m => m.People).ToDictionary(g => g.Key, g => g.Sum());
    }

    /// <summary>By day and version, since a day: however old the box is, what was before is in how it stands now.</summary>
    private async Task<List<DayMove>> MovesAsync(long libraryId, LocalDate first, CancellationToken cancellationToken)
    {
        var moves = db.VersionMoves.Where(m => m.LibraryId == libraryId && m.Day >= first);
        var came = await moves.GroupBy(m => new { m.Day, m.ReleaseId }).Select(g => new { g.Key.Day, g.Key.ReleaseId, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
        var left = await moves.Where(m => m.FromReleaseId != 0).GroupBy(m => new { m.Day, m.FromReleaseId })
            .Select(g => new { g.Key.Day, g.Key.FromReleaseId, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
        return [.. came.Select(m => new DayMove(m.Day, m.ReleaseId, m.People)), .. left.Select(m => new DayMove(m.Day, m.FromReleaseId, -m.People))];
    }

    /// <summary>A question a version; newest first, without those that came out while nobody had the box.</summary>
    private async Task<List<VersionUptake>> UptakesAsync(
        long libraryId, List<KnownVersion> versions, List<LocalDate> sealedOn, DateTimeZone zone, int most, CancellationToken cancellationToken)
    {
        var began = await BeganAsync(libraryId, cancellationToken);
        var uptakes = new List<VersionUptake>();
        foreach (var (version, place) in versions.Select((v, i) => (v, i)).Where(v => v.v.OutAt is not null).OrderByDescending(v => v.v.OutAt).ThenByDescending(v => v.i).Take(most))
        {
            // Who had any of the box by then: those of whom a version that came out before it, or none, was the latest when they first had one.
            List<long> before = [0, .. versions.Where(v => v.OutAt < version.OutAt).Select(v => v.Id)];
            var had = before.Sum(b => began.GetValueOrDefault(b));
            if (had == 0)
                continue;
            List<long> lower = [0, .. versions.Take(place).Select(v => v.Id)];
            var higher = versions.Skip(place).Select(v => v.Id).ToList();
            // Nobody can have had any of these sooner.
            var since = sealedOn.Skip(place).Min();
            var reached = await db.VersionMoves.Where(m => m.LibraryId == libraryId && m.Day >= since && before.Contains(m.LatestThenId)
                    && lower.Contains(m.FromReleaseId) && higher.Contains(m.ReleaseId))
                .GroupBy(m => m.Day).Select(g => new { g.Key, People = g.Sum(m => m.People) }).ToListAsync(cancellationToken);
            uptakes.Add(VersionSums.Uptake(new(version.Id, version.Number, DayOf(version.OutAt, zone)), had, reached.ConvertAll(r => (r.Key, r.People))));
        }
        return uptakes;
    }

    /// <summary>How many first had any of the box while each version was the latest; 0: before any was out.</summary>
    private Task<Dictionary<long, int>> BeganAsync(long libraryId, CancellationToken cancellationToken) =>
        db.VersionMoves.Where(m => m.LibraryId == libraryId && m.FromReleaseId == 0).GroupBy(m => m.LatestThenId)
            .Select(g => new { g.Key, People = g.Sum(m => m.People) }).ToDictionaryAsync(g => g.Key, g => g.People, cancellationToken);

    private static LocalDate? DayOf(DateTimeOffset? at, DateTimeZone zone) => at is { } one ? Instant.FromDateTimeOffset(one).InZone(zone).Date : null;
}
