using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record EditShopOutcome
{
    private EditShopOutcome() { }

    /// <param name="PriceGone">The price of a gigabyte was in another currency and is not known any more.</param>
    /// <param name="Reminder">What she should read again, in words for the maker; null: nothing.</param>
    public sealed record Kept(bool PriceGone = false, string? Reminder = null) : EditShopOutcome;

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
        var (licence, line) = (shop.Licence, shop.LicenceInShort);
        var priceGone = shop.GigabytePrice is not null && shop.Currency != form.Currency;
        form.CopyTo(shop);
        if (priceGone)
            shop.GigabytePrice = null;
        shop.WordsChangedAt = clock.GetUtcNow();
        shop.Revision++;
        try
        {
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            if (shop.Licence == licence && shop.LicenceInShort != line)
                await PutRightAsync(licence, line, shop.LicenceInShort, cancellationToken);
            await transaction.CommitAsync(cancellationToken);
        }
        catch (DbUpdateConcurrencyException)
        {
            return new EditShopOutcome.ChangedMeanwhile();
        }
        return new EditShopOutcome.Kept(priceGone, InShort.IsOfOtherText(shop.LicenceInShort, shop.Licence, line, licence) ? InShort.Reminder : null);
    }

    /// <summary>
    /// Versions that have this very text of the shop's, also sealed ones: a line that promised too much must not stand on beside them. One whose maker
    /// wrote another line for it keeps that. Words that went through a form have no spaces at their ends.
    /// </summary>
    private Task<int> PutRightAsync(string licence, string before, string line, CancellationToken cancellationToken) =>
        db.Releases.Where(r => r.LicenceSpdx == null && r.LicenceText != "" && (r.LicenceText == licence || r.LicenceText == licence.Trim()) && r.LicenceInShort == before)
            .ExecuteUpdateAsync(r => r.SetProperty(x => x.LicenceInShort, line).SetProperty(x => x.Revision, x => x.Revision + 1), cancellationToken);
}
