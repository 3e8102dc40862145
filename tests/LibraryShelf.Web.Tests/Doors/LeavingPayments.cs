using LibraryShelf.Core.Payments;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>A payment provider at which every membership was left just now, and which pays back without a word.</summary>
internal sealed class LeavingPayments(TimeProvider clock) : IPayments
{
    public bool IsOpen => true;

    public bool IsPractice => false;

    public string? PagesOrigin => null;

    public Task<ProviderMembership?> ReadMembershipAsync(string membershipId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return Task.FromResult<ProviderMembership?>(new(
            membershipId, "cus_1", "left@post.example", null, null, now.AddDays(-1), LeavesAt: now.AddDays(30), null, false, null, []));
    }

    public Task LeaveAsync(string membershipId, bool goesOn, CancellationToken cancellationToken) => Task.CompletedTask;

    public ProviderMessage ReadMessage(ReadOnlyMemory<byte> body, string? signature) => new ProviderMessage.NotTheirs();

    public Task<string> MakePriceAsync(PriceWish wish, CancellationToken cancellationToken) => throw new NotSupportedException();

    public Task<Checkout> OpenCheckoutAsync(CheckoutWish wish, CancellationToken cancellationToken) => throw new NotSupportedException();

    public Task<Checkout?> ReadCheckoutAsync(string checkoutId, CancellationToken cancellationToken) =>
        Task.FromResult<Checkout?>(new(checkoutId, new Uri("https://pay.example/open"), IsPaid: false, MembershipId: null));

    public Task<Uri> OpenPortalAsync(string customerId, Uri back, CancellationToken cancellationToken) => throw new NotSupportedException();

    public Task<string?> FindMembershipAsync(MessageSubject subject, CancellationToken cancellationToken) => throw new NotSupportedException();

    public IAsyncEnumerable<string> ListMembershipsAsync(CancellationToken cancellationToken) => throw new NotSupportedException();

    public Task ChangeAddressAsync(string customerId, string email, CancellationToken cancellationToken) => Task.CompletedTask;

    public Task EndAsync(string membershipId, CancellationToken cancellationToken) => Task.CompletedTask;

    public Task RefundAsync(string paymentId, long? minor, string key, CancellationToken cancellationToken) => Task.CompletedTask;

    public Task CreditAsync(string customerId, long minor, string currency, string why, string key, CancellationToken cancellationToken) => throw new NotSupportedException();

    public Task ChangePriceAsync(string membershipId, string priceId, string key, CancellationToken cancellationToken) => throw new NotSupportedException();
}
