using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record EditShopOutcome
{
    private EditShopOutcome() { }

    /// <param name="PriceGone">The price of a gigabyte was in another currency and is not known any more.</param>
    public sealed record Kept(bool PriceGone = false) : EditShopOutcome;

    /// <summary>Nothing was written.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Troubles) : EditShopOutcome;

    /// <summary>Someone saved the shop since this page was opened; nothing was written.</summary>
    public sealed record ChangedMeanwhile : EditShopOutcome;
}

/// <summary>The maker changes what her shop says of itself.</summary>
public sealed class EditShop(ShelfDb db, TimeProvider clock)
{
    /// <param name="revision">The <see cref="Shop.Revision"/> the form was filled from.</param>
    public async Task<EditShopOutcome> RunAsync(ShopForm form, int revision, CancellationToken cancellationToken)
    {
        var troubles = form.Troubles();
        if (troubles.Count > 0)
            return new EditShopOutcome.Refused(troubles);
        var shop = await db.Shops.SingleAsync(cancellationToken);
        if (shop.Revision != revision)
            return new EditShopOutcome.ChangedMeanwhile();
        var priceGone = shop.GigabytePrice is not null && shop.Currency != form.Currency;
        form.CopyTo(shop);
        if (priceGone)
            shop.GigabytePrice = null;
        shop.WordsChangedAt = clock.GetUtcNow();
        shop.Revision++;
        try
        {
            await db.SaveChangesAsync(cancellationToken);
        }
        catch (DbUpdateConcurrencyException)
        {
            return new EditShopOutcome.ChangedMeanwhile();
        }
        return new EditShopOutcome.Kept(priceGone);
    }
}
