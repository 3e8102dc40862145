using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>That a drop comes, and when: all that is told of it before it is out.</summary>
public sealed record ComingDrop(YearMonth Month, DateTimeOffset DueAt, DateTimeZone Zone);

/// <param name="Last">The last that went out, unless that was before the month before this; its versions are those on the shelf now.</param>
/// <param name="IsNow">It is this month's.</param>
/// <param name="Next">The next that is planned; null: none is.</param>
/// <param name="Slipped">A month that its members were told slips, and whose drop is not out yet.</param>
public sealed record DropNews(DropOut? Last, bool IsNow, ComingDrop? Next, SlippedMonth? Slipped)
{
    public static DropNews None { get; } = new(null, false, null, null);
}

/// <param name="Because">In the maker's words.</param>
public sealed record SlippedMonth(YearMonth Month, string Because);

/// <summary>What the shelf says of drops.</summary>
public sealed class ReadNextDrop(ShelfDb db, TimeProvider clock)
{
    public async Task<DropNews> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var sent = await db.Drops.AsNoTracking().Where(d => d.State == DropState.Sent).OrderByDescending(d => d.SentAt).ThenByDescending(d => d.Id).FirstOrDefaultAsync(cancellationToken);
        var open = await db.Drops.AsNoTracking().Where(d => d.State != DropState.Sent && (d.DueAt > now || d.SlippedAt != null)).OrderBy(d => d.DueAt).ToListAsync(cancellationToken);
        if (sent is null && open.Count == 0)
            return DropNews.None;
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        var month = DropWhen.MonthAt(now, zone);
        var next = open.Find(d => d.State == DropState.Planned && d.DueAt > now);
        var slipped = open.Find(d => d.SlippedAt is not null && d.Month >= month.PlusMonths(-1) && d.Month <= month);
        var isFresh = sent is not null && DropWhen.MonthAt(sent.SentAt!.Value, zone) >= month.PlusMonths(-1);
        return new DropNews(
            isFresh ? await DropsOut.OfAsync(db, sent!, now, cancellationToken) : null, sent?.Month == month,
            next is null ? null : new ComingDrop(next.Month, next.DueAt, ReadShop.ZoneOf(next.Zone)),
            slipped is null ? null : new SlippedMonth(slipped.Month, slipped.SlippedBecause));
    }
}
