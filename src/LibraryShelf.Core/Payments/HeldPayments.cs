using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// The wall to the payment provider, as a shelf sees it that may have been restored from a backup: while it is held it reads there, and changes nothing,
/// because another shelf may have charged, credited or ended the same. Looked at before each change, so that no caller can forget to.
/// </summary>
public sealed class HeldPayments(IPayments provider, IDbContextFactory<ShelfDb> databases) : IPayments
{
    internal static string Held =>
        T("This shelf was restored from a backup: until its maker says on the workbench’s first page that it is the one shelf, it changes nothing at the payment provider.");

    internal static string Trial => T("This shelf is only there to try a backup: it changes nothing at the payment provider.");

    public bool IsOpen => provider.IsOpen;

    public bool IsPractice => provider.IsPractice;

    public string? PagesOrigin => provider.PagesOrigin;

    public async Task<string> MakePriceAsync(PriceWish wish, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        return await provider.MakePriceAsync(wish, cancellationToken);
    }

    public async Task<Checkout> OpenCheckoutAsync(CheckoutWish wish, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        return await provider.OpenCheckoutAsync(wish, cancellationToken);
    }

    public Task<Checkout?> ReadCheckoutAsync(string checkoutId, CancellationToken cancellationToken) => provider.ReadCheckoutAsync(checkoutId, cancellationToken);

    /// <summary>Held too: there a card is changed, and a membership left.</summary>
    public async Task<Uri> OpenPortalAsync(string customerId, Uri back, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        return await provider.OpenPortalAsync(customerId, back, cancellationToken);
    }

    public Task<ProviderMembership?> ReadMembershipAsync(string membershipId, CancellationToken cancellationToken) => provider.ReadMembershipAsync(membershipId, cancellationToken);

    public Task<string?> FindMembershipAsync(MessageSubject subject, CancellationToken cancellationToken) => provider.FindMembershipAsync(subject, cancellationToken);

    public IAsyncEnumerable<string> ListMembershipsAsync(CancellationToken cancellationToken) => provider.ListMembershipsAsync(cancellationToken);

    public async Task LeaveAsync(string membershipId, bool goesOn, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.LeaveAsync(membershipId, goesOn, cancellationToken);
    }

    public async Task EndAsync(string membershipId, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.EndAsync(membershipId, cancellationToken);
    }

    public async Task RefundAsync(string paymentId, long? minor, string key, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.RefundAsync(paymentId, minor, key, cancellationToken);
    }

    public async Task CreditAsync(string customerId, long minor, string currency, string why, string key, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.CreditAsync(customerId, minor, currency, why, key, cancellationToken);
    }

    public async Task ChangePriceAsync(string membershipId, string priceId, string key, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.ChangePriceAsync(membershipId, priceId, key, cancellationToken);
    }

    public async Task ChangeAddressAsync(string customerId, string email, CancellationToken cancellationToken)
    {
        await AskAsync(cancellationToken);
        await provider.ChangeAddressAsync(customerId, email, cancellationToken);
    }

    public ProviderMessage ReadMessage(ReadOnlyMemory<byte> body, string? signature) => provider.ReadMessage(body, signature);

    /// <exception cref="PaymentsUnreachableException">The shelf is held.</exception>
    private async Task AskAsync(CancellationToken cancellationToken)
    {
        // Not the caller's: it may stand in a transaction that began before the hold ended, or hold rows it has not saved.
        await using var db = await databases.CreateDbContextAsync(cancellationToken);
        if (await db.Shops.Where(s => s.HeldSince != null).Select(s => (bool?)s.IsTrial).SingleOrDefaultAsync(cancellationToken) is { } isTrial)
            throw new PaymentsUnreachableException(isTrial ? Trial : Held);
    }
}
