using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>That a drop comes, and when: all that is told of it before it is out.</summary>
public sealed record ComingDrop(YearMonth Month, DateTimeOffset DueAt, DateTimeZone Zone);

/// <param name="Last">This month's; without one, the last that went out, unless that was before the month before this. Its versions are those on the shelf now.</param>
/// <param name="IsNow">It is this month's.</param>
/// <param name="Next">The next that is planned of this month and those after it; without one, an earlier month's that comes late; null: none is.</param>
/// <param name="Late">Earlier months' that are planned and come late, besides <paramref name="Next"/> and those of <paramref name="Slipped"/>; by day.</param>
/// <param name="Slipped">Every month of the last twelve, or ahead, that its members were told slips, and whose drop is not out yet, nor its box by hand; by month.</param>
public sealed record DropNews(DropOut? Last, bool IsNow, ComingDrop? Next, IReadOnlyList<ComingDrop> Late, IReadOnlyList<SlippedMonth> Slipped)
{
    public static DropNews None { get; } = new(null, false, null, [], []);
}

/// <param name="Because">In the maker's words.</param>
/// <param name="DueAt">When it comes now, in <paramref name="Zone"/>; null: nobody knows yet.</param>
public sealed record SlippedMonth(YearMonth Month, string Because, DateTimeOffset? DueAt, DateTimeZone Zone);

/// <summary>What the shelf says of drops.</summary>
public sealed class ReadNextDrop(ShelfDb db, TimeProvider clock)
{
    public async Task<DropNews> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        var month = DropWhen.MonthAt(now, zone);
        // An earlier month's that came late does not stand before this month's.
        var sent = await db.Drops.AsNoTracking().Where(d => d.State == DropState.Sent)
            .OrderByDescending(d => d.Month == month).ThenByDescending(d => d.SentAt).ThenByDescending(d => d.Id).FirstOrDefaultAsync(cancellationToken);
        var open = await db.Drops.AsNoTracking().Where(d => d.State != DropState.Sent && (d.DueAt > now || d.SlippedAt != null)).OrderBy(d => d.DueAt).ToListAsync(cancellationToken);
        var boxes = await MonthRows.LoadAsync(db, cancellationToken);
        var slips = open.FindAll(d => d.SlippedAt is not null && d.Month >= month.PlusMonths(-DropWhen.MonthsBack) && !boxes.ContainsKey(d.Month));
        var planned = open.FindAll(d => d.State == DropState.Planned && d.DueAt > now);
        var next = planned.Find(d => d.Month >= month) ?? planned.FirstOrDefault();
        var isFresh = sent is not null && DropWhen.MonthAt(sent.SentAt!.Value, zone) >= month.PlusMonths(-1);
        return new DropNews(
            isFresh ? await DropsOut.OfAsync(db, sent!, now, cancellationToken) : null, sent?.Month == month,
            next is null ? null : Coming(next), [.. planned.Where(d => d.Month < month && d != next && !slips.Contains(d)).Select(Coming)],
            [.. slips.OrderBy(d => d.Month)
                .Select(d => new SlippedMonth(d.Month, d.SlippedBecause, planned.Contains(d) ? d.DueAt : null, ReadShop.ZoneOf(d.Zone)))]);
    }

    private static ComingDrop Coming(Drop drop) => new(drop.Month, drop.DueAt, ReadShop.ZoneOf(drop.Zone));
}
