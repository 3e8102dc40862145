using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Marks the shop's days of these instants as changed, so that they are rolled up again.</summary>
internal sealed class MarkDays(ShelfDb db)
{
    /// <summary>In the caller's transaction, which lets no other writer through.</summary>
    public async Task RunAsync(IEnumerable<DateTimeOffset> instants, CancellationToken cancellationToken)
    {
        var zone = await ZoneAsync(db, cancellationToken);
        foreach (var day in instants.Select(i => Instant.FromDateTimeOffset(i).InZone(zone).Date).Distinct().Order().ToList())
            if (await db.DayRolls.Where(r => r.Day == day).ExecuteUpdateAsync(s => s.SetProperty(r => r.Changed, r => r.Changed + 1), cancellationToken) == 0)
                db.DayRolls.Add(new DayRoll { Day = day, Changed = 1 });
        await db.SaveChangesAsync(cancellationToken);
    }

    internal static async Task<DateTimeZone> ZoneAsync(ShelfDb db, CancellationToken cancellationToken) =>
        ReadShop.ZoneOf(await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).FirstOrDefaultAsync(cancellationToken) ?? "");
}
