using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Other prices and months that slipped: tells the members concerned, then the payment provider. Woken by the sweep while anything waits.</summary>
internal sealed class MoneyJob(
    TellPriceChanges tellPrices, ApplyPriceChanges applyPrices, WriteCredits writeCredits, MoveCredits moveCredits, PayCredits payCredits, PublicAddress address, JobChain chain)
{
    /// <returns>What could not be done, for the maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var told = await tellPrices.RunAsync(address.Set, cancellationToken) + await writeCredits.RunAsync(address.Set, cancellationToken)
            + await moveCredits.RunAsync(address.Set, cancellationToken);
        if (told > 0)
            chain.MailSoon();
        var prices = await applyPrices.RunAsync(address.Set, cancellationToken);
        var credits = await payCredits.RunAsync(address.Set, cancellationToken);
        return prices is null || credits is null ? prices ?? credits : $"{prices} {credits}";
    }
}
