namespace LibraryShelf.Core.Payments;

/// <summary>
/// The wall to the payment provider. Whatever it says is read fresh, whole; its messages only say where to look. Every method throws
/// <see cref="PaymentsUnreachableException"/> when the provider can't be reached or refuses for a reason that is ours or passes, and nothing was changed
/// as far as we know; asking again with the same key changes nothing twice.
/// </summary>
public interface IPayments
{
    /// <summary>False: no key is set, so joining is closed.</summary>
    bool IsOpen { get; }

    /// <summary>True: the stand-in on this machine answers, and no money moves.</summary>
    bool IsPractice { get; }

    /// <summary>Where the payment pages are, such as "https://pay.example"; null: on this shelf's own address. A form may lead there.</summary>
    string? PagesOrigin { get; }

    /// <summary>Makes the plan's price known there; the same plan gives the same name.</summary>
    Task<string> MakePriceAsync(PriceWish wish, CancellationToken cancellationToken);

    /// <summary>Opens a payment page for one person.</summary>
    Task<Checkout> OpenCheckoutAsync(CheckoutWish wish, CancellationToken cancellationToken);

    /// <summary>How a payment page stands; null: there is none of that name.</summary>
    Task<Checkout?> ReadCheckoutAsync(string checkoutId, CancellationToken cancellationToken);

    /// <summary>The address of the provider's page for card and invoices, good for a short while.</summary>
    Task<Uri> OpenPortalAsync(string customerId, Uri back, CancellationToken cancellationToken);

    /// <summary>All there is to know of a membership: how it stands, its payments, what was paid back, lost disputes. Null: there is none of that name.</summary>
    Task<ProviderMembership?> ReadMembershipAsync(string membershipId, CancellationToken cancellationToken);

    /// <summary>Which membership a thing belongs to; null: to none, or it is not there.</summary>
    Task<string?> FindMembershipAsync(MessageSubject subject, CancellationToken cancellationToken);

    /// <summary>Names of all memberships, ended ones too; for reconciling.</summary>
    IAsyncEnumerable<string> ListMembershipsAsync(CancellationToken cancellationToken);

    /// <summary>Takes no more money after what is paid; <paramref name="goesOn"/> takes that back while it has not ended.</summary>
    Task LeaveAsync(string membershipId, bool goesOn, CancellationToken cancellationToken);

    /// <summary>Ends it this moment.</summary>
    Task EndAsync(string membershipId, CancellationToken cancellationToken);

    /// <summary>Pays an invoice back, whole (null) or in part.</summary>
    /// <param name="key">Names this wish, for good: the same key pays back once, however long ago.</param>
    Task RefundAsync(string paymentId, long? minor, string key, CancellationToken cancellationToken);

    /// <summary>Takes so much off the next invoice; the same <paramref name="key"/> once, however long ago.</summary>
    Task CreditAsync(string customerId, long minor, string currency, string why, string key, CancellationToken cancellationToken);

    /// <summary>Changes what the next period costs; nothing is charged now.</summary>
    Task ChangePriceAsync(string membershipId, string priceId, string key, CancellationToken cancellationToken);

    /// <summary>Where invoices and payment mails go from now on; doing it twice changes nothing.</summary>
    Task ChangeAddressAsync(string customerId, string email, CancellationToken cancellationToken);

    /// <summary>Reads a message from the provider: verified on the raw body by its signature, not older than 300 seconds.</summary>
    ProviderMessage ReadMessage(ReadOnlyMemory<byte> body, string? signature);
}

/// <summary>The provider could not be asked or did not do it. <paramref name="words"/> are plain, for the one who pressed.</summary>
public sealed class PaymentsUnreachableException(string words, Exception? inner = null) : Exception(words, inner);

/// <param name="Name">What stands on the payment page and on invoices.</param>
public sealed record PriceWish(long PlanId, string Name, long Minor, string Currency, int Months, bool IsTaxIncluded);

/// <param name="JoiningId">Ours; comes back with the membership, so that each finds the other whatever is lost between.</param>
/// <param name="Email">Can't be changed there.</param>
/// <param name="Done">Where the payer comes back to.</param>
/// <param name="Back">Where one who does not pay comes back to.</param>
public sealed record CheckoutWish(long JoiningId, string PriceId, string Email, string? CustomerId, Uri Done, Uri Back);

/// <param name="Page">Where to pay; null once it is over.</param>
/// <param name="MembershipId">Null: not paid.</param>
public sealed record Checkout(string Id, Uri? Page, bool IsPaid, string? MembershipId);

/// <param name="JoiningId">As given to the checkout; null: made elsewhere.</param>
/// <param name="PriceId">What the next period costs.</param>
/// <param name="LeavesAt">It ends then by itself.</param>
/// <param name="UnpaidSince">Of the newest invoice that failed and is still due; null: none.</param>
public sealed record ProviderMembership(
    string Id, string CustomerId, string Email, long? JoiningId, string? PriceId, DateTimeOffset StartedAt, DateTimeOffset? LeavesAt,
    DateTimeOffset? EndedAt, bool IsPaused, DateTimeOffset? UnpaidSince, IReadOnlyList<ProviderPayment> Payments)
{
    /// <summary>False: neither a joining nor a price of a shelf's is written on it. The maker's account there sells something else too.</summary>
    public bool IsOurs { get; init; } = true;
}

/// <summary>A paid invoice. One of nothing (a change of plan settled by credit) is one too.</summary>
/// <param name="Minor">What was paid, in the currency's smallest unit.</param>
/// <param name="PriceMinor">What it came to before credit was taken off.</param>
/// <param name="Months">1 or 12: how long the period is that it pays for.</param>
/// <param name="RefundedAt">The last time any of it was paid back.</param>
/// <param name="DisputeLostAt">When a dispute about it was decided against the maker.</param>
public sealed record ProviderPayment(
    string Id, long Minor, string Currency, int Months, DateTimeOffset PeriodStart, DateTimeOffset PeriodEnd, DateTimeOffset PaidAt,
    long RefundedMinor, DateTimeOffset? RefundedAt, DateTimeOffset? DisputeLostAt, long PriceMinor)
{
    /// <summary>How much of <see cref="RefundedMinor"/> went back because the month slipped: that takes nothing away. Ours, not the provider's.</summary>
    public long BackForSlippedMonth { get; init; }

    /// <summary>Paid back whole, or a dispute lost; a part paid back takes nothing away.</summary>
    public DateTimeOffset? TakenBackAt =>
        DisputeLostAt is { } lost && !(RefundedWhole && RefundedAt < lost) ? lost : RefundedWhole ? RefundedAt : null;

    private bool RefundedWhole => Minor > 0 && RefundedMinor >= Minor && RefundedMinor > BackForSlippedMonth;
}

/// <summary>What a message from the provider comes to.</summary>
public abstract record ProviderMessage
{
    private ProviderMessage() { }

    /// <summary>Its signature is not the provider's, or it is too old. Nothing of it is believed.</summary>
    public sealed record NotTheirs : ProviderMessage;

    /// <summary>Signed, but not a message as documented.</summary>
    public sealed record Unreadable : ProviderMessage;

    /// <summary>Look again at what it names. <paramref name="Subject"/> null: nothing of ours is meant.</summary>
    public sealed record LookAgain(string EventId, string Kind, MessageSubject? Subject) : ProviderMessage;
}

/// <summary>Which thing of the provider's a message is about. All but a membership are asked which membership they belong to.</summary>
public sealed record MessageSubject(SubjectKind Kind, string Id);

public enum SubjectKind { Membership, Invoice, Charge, Dispute, Checkout }
