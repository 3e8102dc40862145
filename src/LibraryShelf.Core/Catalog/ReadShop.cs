using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Catalog;

/// <summary>What stands on every page: the shop's name and the maker's line, and the time zone in which its days begin.</summary>
public sealed record ShopFront(string Name, string MakerLine, string Contact, DateTimeZone Zone, bool IsDemo, bool IsClaimed)
{
    /// <summary>Before the shelf is claimed.</summary>
    public static ShopFront Unclaimed { get; } = new("LibraryShelf", "", "", DateTimeZone.Utc, IsDemo: false, IsClaimed: false);
}

/// <summary>Reads the shop's front; <see cref="ShopFront.Unclaimed"/> before a maker has named it.</summary>
public sealed class ReadShop(ShelfDb db)
{
    public async Task<ShopFront> RunAsync(CancellationToken cancellationToken)
    {
        var row = await db.Shops.AsNoTracking()
            .Where(s => s.Id == Shop.OnlyId)
            .Select(s => new { s.Name, s.MakerLine, s.Contact, s.TimeZone, s.IsDemo })
            .SingleOrDefaultAsync(cancellationToken);
        return row is null ? ShopFront.Unclaimed : new ShopFront(row.Name, row.MakerLine, row.Contact, ZoneOf(row.TimeZone), row.IsDemo, IsClaimed: true);
    }

    /// <summary>An unknown name falls back to UTC: a page must not fail over a zone that a later tz database renamed.</summary>
    public static DateTimeZone ZoneOf(string id) => DateTimeZoneProviders.Tzdb.GetZoneOrNull(id) ?? DateTimeZone.Utc;
}
