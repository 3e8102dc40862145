using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>The shop with all its texts, for the pages that show or edit them; null before the shelf is claimed.</summary>
public sealed class ReadShopRow(ShelfDb db)
{
    public Task<Shop?> RunAsync(CancellationToken cancellationToken) =>
        db.Shops.AsNoTracking().SingleOrDefaultAsync(s => s.Id == Shop.OnlyId, cancellationToken);
}
