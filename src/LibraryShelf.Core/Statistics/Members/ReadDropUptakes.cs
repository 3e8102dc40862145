using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>How one drop was taken.</summary>
/// <param name="Titles">Of the libraries in it, by their place.</param>
/// <param name="Holders">People whose it was when it went out.</param>
/// <param name="After">How many of them took it within 1, 7 and 30 days; so far, where these are not over.</param>
/// <param name="AreOver">Whether they are.</param>
/// <param name="ByNow">How many took it by now.</param>
public sealed record UptakeLine(YearMonth Month, string Title, IReadOnlyList<string> Titles, DateTimeOffset SentAt, int Holders, IReadOnlyList<int> After, IReadOnlyList<bool> AreOver, int ByNow)
{
    public int InAHundred(int people) => Share.InAHundred(people, Holders);
}

/// <param name="All">Of every month, the newest first.</param>
/// <param name="Waiting">Drops that went out and are not rolled up yet.</param>
public sealed record DropNumbers(YearMonth First, YearMonth Last, YearMonth Earliest, YearMonth Latest, string TimeZone, int Waiting, IReadOnlyList<UptakeLine> All)
{
    /// <summary>Those from <see cref="First"/> to <see cref="Last"/>, the newest first.</summary>
    public IReadOnlyList<UptakeLine> Lines { get; init; } = [.. All.Where(l => l.Month >= First && l.Month <= Last)];

    /// <summary>What the drops shown came to after as many days, in a hundred: the middle of those of which that is known; null: of none.</summary>
    public int? Middle(int which) => MiddleOf(Lines, which);

    /// <summary>What a drop usually came to after as many days, in a hundred: the middle of those before it of which that is known, whichever months are shown. Null: of none.</summary>
    public int? UsuallyBefore(UptakeLine line, int which) =>
        MiddleOf(All.Where(l => l.Month < line.Month), which);

    private static int? MiddleOf(IEnumerable<UptakeLine> lines, int which)
    {
        var known = lines.Where(l => l.Holders > 0 && l.AreOver[which]).Select(l => l.InAHundred(l.After[which])).Order().ToList();
        return known.Count == 0 ? null : (known[(known.Count - 1) / 2] + known[known.Count / 2] + 1) / 2;
    }
}

/// <summary>Reads how the drops were taken, from what <see cref="RollUpDrops"/> rolled up.</summary>
public sealed class ReadDropUptakes(ShelfDb db, TimeProvider clock)
{
    /// <param name="from">The first month; null: of the first drop.</param>
    /// <param name="to">The last; null: of the latest.</param>
    public async Task<DropNumbers> RunAsync(YearMonth? from, YearMonth? to, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var present = Instant.FromDateTimeOffset(now).InZone(zone).Date.ToYearMonth();
        var drops = await db.Drops.AsNoTracking().Where(d => d.State == DropState.Sent && d.SentAt != null).OrderByDescending(d => d.Month).ToListAsync(cancellationToken);
        var (earliest, latest) = drops.Count == 0 ? (present, present) : (drops[^1].Month, drops[0].Month);
        var (first, last) = (from ?? earliest, to ?? latest);
        if (first > last) (first, last) = (last, first);
        var rows = await db.DropUptakes.AsNoTracking().Where(u => u.RolledAt != null).ToDictionaryAsync(u => u.DropId, cancellationToken);
        var titles = (await (from d in db.DropReleases join r in db.Releases on d.ReleaseId equals r.Id orderby d.Place, d.Id select new { d.DropId, r.Library.Title }).ToListAsync(cancellationToken))
            .ToLookup(t => t.DropId, t => t.Title);
        return new(first, last, earliest, latest, zone.Id, drops.Count(d => !rows.ContainsKey(d.Id)),
            [.. drops.Where(d => rows.ContainsKey(d.Id)).Select(d => Line(d, rows[d.Id], [.. titles[d.Id].Distinct(StringComparer.Ordinal)], now))]);
    }

    private static UptakeLine Line(Drop drop, DropUptake row, IReadOnlyList<string> titles, DateTimeOffset now) => new(
        drop.Month, drop.Title, titles, drop.SentAt!.Value, row.Holders, [row.After1, row.After7, row.After30],
        [.. DropUptake.Days.Select(days => now - drop.SentAt >= TimeSpan.FromDays(days))], row.ByNow);
}
