using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Reads who is on which version of a box, in the shop's days, from the sums that <see cref="RollUpVersions"/> keeps. docs/counting.md says what they are.</summary>
public sealed class ReadVersionShares(ShelfDb db, TimeProvider clock)
{
    /// <summary>Half a year.</summary>
    public const int UsualDays = 183;

    /// <summary>Ten years: a longer time is cut at its beginning.</summary>
    public const int MostDays = 3_653;

    /// <param name="slug">A box; null, or one that is not there: that of whose versions one came out last.</param>
    /// <param name="from">First day; null: <see cref="UsualDays"/> up to the last.</param>
    /// <param name="to">Last day; null, or one that is still to come: today.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<VersionShares> RunAsync(string? slug, LocalDate? from, LocalDate? to, CancellationToken cancellationToken)
    {
        var (zone, today) = await TodayAsync(cancellationToken);
        var boxes = await BoxesAsync(cancellationToken);
        var (first, last) = Bounds(from, to, today);
        var chosen = boxes.Find(b => b.Slug == slug) ?? boxes.MaxBy(b => b.OutAt);
        List<NumbersBox> listed = [.. boxes.OrderBy(b => b.Title, StringComparer.Ordinal).Select(b => new NumbersBox(b.Slug, b.Title))];
        return chosen is null ? new(null, listed, first, last, zone.Id, [], null, [], [])
            : await OfAsync(chosen, listed, first, last, zone, withUptakes: true, cancellationToken);
    }

    /// <summary>Several boxes at a glance: those of whose versions one came out last, first; each over <see cref="UsualDays"/> up to today, without uptakes.</summary>
    /// <param name="most">How many at most.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<IReadOnlyList<VersionShares>> OfNewestAsync(int most, CancellationToken cancellationToken)
    {
        var (zone, today) = await TodayAsync(cancellationToken);
        var boxes = await BoxesAsync(cancellationToken);
        var (first, last) = Bounds(null, null, today);
        var shares = new List<VersionShares>();
        // A box nobody has anything of has no share to show; another takes its place, but not all of them are looked at for that.
        foreach (var box in boxes.OrderByDescending(b => b.OutAt).Take(most * 3))
            if (shares.Count < most && await OfAsync(box, [], first, last, zone, withUptakes: false, cancellationToken) is { People: > 0 } one)
                shares.Add(one);
        return shares;
    }

    private sealed record Box(long Id, string Slug, string Title, DateTimeOffset? OutAt);

    private async Task<(DateTimeZone Zone, LocalDate Today)> TodayAsync(CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        return (zone, Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date);
    }

    /// <summary>Those with a version that came out.</summary>
    private async Task<List<Box>> BoxesAsync(CancellationToken cancellationToken) =>
        (await db.Releases.Where(r => r.PublishedAt != null).GroupBy(r => new { r.Library.Id, r.Library.Slug, r.Library.Title })
            .Select(g => new { g.Key.Id, g.Key.Slug, g.Key.Title, OutAt = g.Max(r => r.PublishedAt) }).ToListAsync(cancellationToken))
            .ConvertAll(b => new Box(b.Id, b.Slug, b.Title, b.OutAt));

    internal static (LocalDate First, LocalDate Last) Bounds(LocalDate? from, LocalDate? to, LocalDate today)
    {
        var last = to is { } t && t < today ? t : today;
        var first = from ?? last.PlusDays(1 - UsualDays);
        // Turned round, they mean the same days.
        if (first > last)
            (first, last) = (last, first < today ? first : today);
        return (LocalDate.Max(first, last.PlusDays(1 - MostDays)), last);
    }

    private async Task<VersionShares> OfAsync(
        Box box, IReadOnlyList<NumbersBox> boxes, LocalDate first, LocalDate last, DateTimeZone zone, bool withUptakes, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.Where(r => r.LibraryId == box.Id && r.SealedAt != null)
            .Select(r => new { r.State, Known = new KnownVersion(r.Id, r.LibraryId, r.Number, r.PublishedAt) }).ToListAsync(cancellationToken);
        List<ShareVersion> all = [.. rows.Select(r => r.Known).OrderBy(v => v.Number, ReleaseNumbers.ByPrecedence)
            .Select(v => new ShareVersion(v.Id, v.Number, v.OutAt is { } at ? Instant.FromDateTimeOffset(at).InZone(zone).Date : null))];
        var days = VersionSums.Days(await MovesAsync(box.Id, first, last, cancellationToken), all, first, last);
        var shown = Enumerable.Range(0, all.Count).Where(i => all[i].OutOn <= last || days.Exists(d => d.People[i] > 0)).ToList();
        var onShelf = rows.Where(r => r.State == ReleaseState.Published).Select(r => r.Known.Id).ToHashSet();
        return new(
            new(box.Slug, box.Title), boxes, first, last, zone.Id, shown.ConvertAll(i => all[i]), all.FindLast(v => onShelf.Contains(v.Id))?.Id,
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
