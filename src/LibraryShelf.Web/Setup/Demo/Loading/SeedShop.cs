using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>The maker takes over the empty shelf with its one-time link, and the shop is marked as invented.</summary>
internal sealed class SeedShop(Steps steps, SettableClock clock)
{
    public async Task RunAsync(ShopRecipe shop, DateTimeOffset openedAt, CancellationToken cancellationToken)
    {
        clock.Now = openedAt;
        var token = await steps.TakeAsync<OfferClaim, string?>(v => v.RunAsync(cancellationToken))
            ?? throw new InvalidOperationException("The practice shop's folder already has a maker.");
        var form = new ShopForm(
            shop.Name, shop.MakerLine, shop.Contact, shop.TimeZone, shop.Currency, shop.PostalAddress,
            shop.Terms, shop.Privacy, shop.Licence) { LicenceInShort = shop.LicenceInShort };
        await steps.MustAsync<ClaimShelf, ClaimOutcome.Claimed>(
            "claim its shelf", async v => await v.RunAsync(token, form, shop.MakerEmail, shop.MakerPassword, cancellationToken));
        await steps.TakeAsync<ShelfDb, int>(
            db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.IsDemo, true), cancellationToken));
        await steps.TakeAsync<EditJoinTerms, IReadOnlyList<Refusal>>(v => v.RunAsync(shop.ConsentWords, null, shop.TermsVersion, AfterLeaving.PaidMonths, cancellationToken));
        foreach (var plan in shop.Plans)
            await steps.TakeAsync<OfferPlan, OfferPlanOutcome>(v => v.RunAsync(plan.Months, plan.Minor, isTaxIncluded: true, cancellationToken));
    }
}
