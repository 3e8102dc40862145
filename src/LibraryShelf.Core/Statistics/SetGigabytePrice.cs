using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>Keeps what a gigabyte that goes out costs the maker, for the figures alone: nothing is charged by it.</summary>
public sealed class SetGigabytePrice(ShelfDb db)
{
    private const decimal Millionths = 1_000_000;

    /// <param name="typed">In the shop's currency, with a point or a comma: "0.005"; empty: not said.</param>
    /// <param name="cancellationToken">Ends it before anything is written.</param>
    /// <returns>False: it is no price from 0 to 1,000 with at most six decimals, and nothing was changed.</returns>
    public async Task<bool> RunAsync(string? typed, CancellationToken cancellationToken)
    {
        long? price = null;
        if (!string.IsNullOrWhiteSpace(typed))
        {
            if (Read(typed) is not { } read)
                return false;
            price = read;
        }
        await db.Shops.Where(s => s.Id == Shop.OnlyId).ExecuteUpdateAsync(s => s.SetProperty(x => x.GigabytePrice, price), cancellationToken);
        return true;
    }

    /// <summary>Millionths; null: see above.</summary>
    internal static long? Read(string typed) =>
        decimal.TryParse(typed.Trim().Replace(',', '.'), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var price)
            && price * Millionths is var millionths && millionths == decimal.Truncate(millionths) && price is >= 0 and <= 1_000 ? (long)millionths : null;
}
