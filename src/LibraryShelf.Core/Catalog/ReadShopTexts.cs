using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>The maker's own texts, in Markdown; empty where she wrote none.</summary>
public sealed record ShopTexts(string Terms, string Privacy, string Licence, string Contact, string PostalAddress)
{
    /// <summary>What <see cref="Licence"/> comes to; empty: not said.</summary>
    public string LicenceInShort { get; init; } = "";
}

/// <summary>Reads the shop's long texts; all empty before the shelf is claimed.</summary>
public sealed class ReadShopTexts(ShelfDb db)
{
    public async Task<ShopTexts> RunAsync(CancellationToken cancellationToken) =>
        await db.Shops.Where(s => s.Id == Shop.OnlyId)
            .Select(s => new ShopTexts(s.Terms, s.Privacy, s.Licence, s.Contact, s.PostalAddress) { LicenceInShort = s.LicenceInShort })
            .SingleOrDefaultAsync(cancellationToken)
        ?? new ShopTexts("", "", "", "", "");
}
