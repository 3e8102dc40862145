using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>A month at the workbench.</summary>
/// <param name="Month">Which.</param>
/// <param name="Drop">Its drop; null: none is planned.</param>
/// <param name="Versions">What stands in it, by place.</param>
/// <param name="ByHand">Titles of libraries that are this month's box and came out by hand, beside the drop or without one.</param>
/// <param name="Gaps">What it lacks to go out whole; none of one that is out.</param>
/// <param name="DueAt">When it goes out, or, without a drop or with one that was called off, when it usually would.</param>
/// <param name="Zone">In which that instant is told.</param>
public sealed record DropMonth(
    YearMonth Month, Drop? Drop, IReadOnlyList<DropVersion> Versions, IReadOnlyList<string> ByHand, IReadOnlyList<DropGap> Gaps, DateTimeOffset DueAt, DateTimeZone Zone)
{
    public bool IsPlanned => Drop is { State: DropState.Planned };

    /// <summary>It is due, or was when it began to, and waits for its maker's word.</summary>
    public bool IsAsking => Drop is { State: DropState.Planned, AsksSince: not null };

    public bool IsSent => Drop is { State: DropState.Sent };

    /// <summary>Somebody who pays for it gets nothing for it, as things stand.</summary>
    public bool IsWanting => !IsSent && Gaps.Count > 0;
}

/// <summary>All months: those ahead, in order, with those that are late; and those past, newest first.</summary>
/// <param name="ThisMonth">In the shop's zone.</param>
/// <param name="UsualDay">As <see cref="DropDay"/> writes it.</param>
/// <param name="UsualTime">"09:00".</param>
/// <param name="Zone">The shop's.</param>
/// <param name="IsHeld">The shelf was restored and is quiet: nothing goes out until its maker says so.</param>
public sealed record DropMonths(YearMonth ThisMonth, string UsualDay, string UsualTime, DateTimeZone Zone, bool IsHeld, DateTimeOffset Now, IReadOnlyList<DropMonth> Ahead, IReadOnlyList<DropMonth> Past)
{
    /// <summary>How many days before a drop the maker is reminded of what its letters need.</summary>
    public const int LettersSoon = 14;

    /// <summary>No postal address is set, which every letter to members has to carry.</summary>
    public bool LacksPostalAddress { get; init; }

    /// <summary>The same where a planned drop is late, or at most <see cref="LettersSoon"/> days away.</summary>
    public bool LacksPostalAddressSoon => LacksPostalAddress && Ahead.Any(m => m.IsPlanned && DropWhen.DaysTo(Now, m.DueAt, m.Zone) <= LettersSoon);

    /// <summary>The maker plans drops: one at least was planned.</summary>
    public bool IsUsed => Ahead.Concat(Past).Any(m => m.Drop is not null);

    /// <summary>
    /// The first month that is not out: what its maker thinks of today. One that nobody planned is forgotten only where the month before it had a drop;
    /// otherwise, once its usual day is past, it was not meant.
    /// </summary>
    public DropMonth? Next => Ahead.FirstOrDefault(m => m.IsPlanned || (m.IsWanting && (m.DueAt > Now || Ahead.Concat(Past).Any(b => b.IsSent && b.Month == m.Month.PlusMonths(-1)))));
}

/// <summary>Reads every month's drop, with what it lacks.</summary>
public sealed class ReadDrops(ShelfDb db, TimeProvider clock)
{
    /// <summary>This month and those after it, planned or not.</summary>
    public const int MonthsShown = 12;

    public async Task<DropMonths> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken) ?? new Shop();
        var zone = ReadShop.ZoneOf(shop.TimeZone);
        var first = DropWhen.MonthAt(now, zone);
        var drops = (await db.Drops.AsNoTracking().ToListAsync(cancellationToken)).ToDictionary(d => d.Month);
        var versions = await DropVersions.LoadAsync(db, [.. drops.Values.Select(d => d.Id)], now, cancellationToken);
        var boxes = await MonthRows.LoadAsync(db, cancellationToken);
        var late = drops.Values.Where(d => d.State == DropState.Planned && d.Month < first).Select(d => d.Month);
        var ahead = late.Concat(Enumerable.Range(0, MonthsShown).Select(first.PlusMonths)).Concat(drops.Keys.Where(m => m >= first.PlusMonths(MonthsShown))).Order().ToList();
        var past = drops.Keys.Concat(boxes.Keys).Where(m => m < first).Except(ahead).Distinct().OrderDescending();
        return new DropMonths(first, shop.DropDay, shop.DropTime, zone, shop.HeldSince is not null, now, [.. ahead.Select(Month)], [.. past.Select(Month)])
        {
            LacksPostalAddress = string.IsNullOrWhiteSpace(shop.PostalAddress),
        };

        DropMonth Month(YearMonth month)
        {
            var drop = drops.GetValueOrDefault(month);
            return MonthRows.Month(month, drop, drop is null ? [] : [.. versions[drop.Id]], boxes.GetValueOrDefault(month, []), shop);
        }
    }
}

/// <summary>The boxes of months, whichever way they came out.</summary>
internal static class MonthRows
{
    /// <summary>Libraries on the shelf that are a month's box, by month and title.</summary>
    public static async Task<Dictionary<YearMonth, List<(string Slug, string Title)>>> LoadAsync(ShelfDb db, CancellationToken cancellationToken) =>
        (await db.Libraries.Where(l => l.Month != null && l.Releases.Any(r => r.State == ReleaseState.Published)).OrderBy(l => l.Title)
            .Select(l => new { Month = l.Month!.Value, l.Slug, l.Title }).ToListAsync(cancellationToken))
        .GroupBy(l => l.Month).ToDictionary(g => g.Key, g => g.Select(l => (l.Slug, l.Title)).ToList());

    public static DropMonth Month(YearMonth month, Drop? drop, IReadOnlyList<DropVersion> versions, List<(string Slug, string Title)> boxes, Shop shop)
    {
        var byHand = boxes.FindAll(b => !versions.Any(v => v.Slug == b.Slug)).ConvertAll(b => b.Title);
        // One that was called off has no hour any more, or never had one.
        var plan = drop is { State: not DropState.Cancelled } ? drop : null;
        var (zone, due) = (ReadShop.ZoneOf(plan?.Zone ?? shop.TimeZone), plan?.DueAt ?? Usual(month, shop));
        // A month whose box came out by hand needs no drop besides.
        var gaps = drop is { State: DropState.Sent } || (drop is not { State: DropState.Planned } && byHand.Count > 0) ? [] : DropReadiness.Of(month, versions);
        return new DropMonth(month, drop, versions, byHand, gaps, due, zone);
    }

    /// <summary>When it goes out where nobody says otherwise.</summary>
    public static DateTimeOffset Usual(YearMonth month, Shop shop) =>
        new DropForm("", "", shop.DropDay, shop.DropTime, shop.TimeZone).DueIn(month) ?? WallClock.At(month.OnDayOfMonth(1), LocalTime.Midnight, ReadShop.ZoneOf(shop.TimeZone));
}
