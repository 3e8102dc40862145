using System.Globalization;
using System.Net;
using System.Runtime.CompilerServices;
using LibraryShelf.Core.Payments;
using Stripe;
using Stripe.Checkout;

namespace LibraryShelf.Adapters.Payments;

/// <summary>Where the client speaks to, and with what.</summary>
/// <param name="ApiBase">Null: Stripe itself.</param>
/// <param name="ComputesTax">Stripe works out the tax of each invoice, by what is set there. It files nothing.</param>
public sealed record StripeAccess(string Key, string MessageSecret, string? ApiBase, bool IsPractice, bool ComputesTax = false);

/// <summary>
/// The payment provider is Stripe, spoken to by its own library. Amounts are in the currency's smallest unit on both sides. Stripe's instants
/// are whole seconds, UTC.
/// </summary>
public sealed class StripePayments : IPayments, IDisposable
{
    /// <summary>Metadata on what moves money: which wish of ours it answers.</summary>
    private const string WishKey = "shelf_wish";

    private readonly StripeAccess access;
    private readonly HttpClient http;
    private readonly V1Services? stripe;
    private readonly StripeMessages messages;

    /// <param name="access">With an empty key nothing can be asked, and <see cref="IsOpen"/> is false.</param>
    /// <param name="clock">For the age of messages.</param>
    /// <param name="carrier">What carries the questions; null: the network. Disposed with this.</param>
    public StripePayments(StripeAccess access, TimeProvider clock, HttpMessageHandler? carrier = null)
    {
        this.access = access;
        http = new HttpClient(carrier ?? new SocketsHttpHandler()) { Timeout = TimeSpan.FromSeconds(30) };
        messages = new StripeMessages(access.MessageSecret, clock);
        if (access.Key.Length == 0)
            return;
        // No telemetry: what we ask for is nobody's business. The library tries twice more by itself, with the same key of the wish.
        var options = new StripeClientOptions { ApiKey = access.Key, HttpClient = new SystemNetHttpClient(http, maxNetworkRetries: 2, enableTelemetry: false) };
        if (access.ApiBase is not null)
            options.ApiBase = access.ApiBase;
        stripe = new StripeClient(options).V1;
    }

    public bool IsOpen => stripe is not null;

    public bool IsPractice => access.IsPractice;

    // Stripe documentation, "Security: Content Security Policy".
    public string? PagesOrigin => access.IsPractice ? null : "https://checkout.stripe.com";

    public void Dispose() => http.Dispose();

    public ProviderMessage ReadMessage(ReadOnlyMemory<byte> body, string? signature) => messages.Read(body, signature);

    public Task<string> MakePriceAsync(PriceWish wish, CancellationToken cancellationToken) => AskAsync(async stripe =>
    {
        // The lookup key finds what an earlier try made, also long after the idempotency key is forgotten (24 h).
        var lookup = $"{StripeReading.PriceKey}{wish.PlanId}";
        var known = await stripe.Prices.ListAsync(new PriceListOptions { LookupKeys = [lookup], Limit = 1 }, cancellationToken: cancellationToken);
        // Another shelf, or this one begun anew, may have named its own price so.
        if (known.Data.Find(p => IsSame(p, wish)) is { } made)
            return made.Id;
        var price = await stripe.Prices.CreateAsync(
            new PriceCreateOptions
            {
                Currency = wish.Currency.ToLowerInvariant(),
                UnitAmount = wish.Minor,
                LookupKey = lookup,
                TransferLookupKey = true,
                Recurring = new PriceRecurringOptions { Interval = Interval(wish) },
                TaxBehavior = wish.IsTaxIncluded ? "inclusive" : "unspecified",
                ProductData = new PriceProductDataOptions { Name = wish.Name },
            },
            Once(string.Create(CultureInfo.InvariantCulture, $"{lookup}-{wish.Minor}-{wish.Currency}-{wish.Months}-{wish.IsTaxIncluded}")), cancellationToken);
        return price.Id;
    });

    public Task<Checkout> OpenCheckoutAsync(CheckoutWish wish, CancellationToken cancellationToken) => AskAsync(async stripe =>
    {
        var joining = wish.JoiningId.ToString(CultureInfo.InvariantCulture);
        var metadata = new Dictionary<string, string>(StringComparer.Ordinal) { [StripeReading.JoiningKey] = joining };
        var session = await stripe.Checkout.Sessions.CreateAsync(
            new SessionCreateOptions
            {
                Mode = "subscription",
                ClientReferenceId = joining,
                Customer = wish.CustomerId,
                CustomerEmail = wish.CustomerId is null ? wish.Email : null,
                LineItems = [new SessionLineItemOptions { Price = wish.PriceId, Quantity = 1 }],
                SubscriptionData = new SessionSubscriptionDataOptions { Metadata = metadata },
                // An address is what tax goes by; one kept before is brought up to date.
                AutomaticTax = access.ComputesTax ? new SessionAutomaticTaxOptions { Enabled = true } : null,
                CustomerUpdate = access.ComputesTax && wish.CustomerId is not null ? new SessionCustomerUpdateOptions { Address = "auto" } : null,
                SuccessUrl = wish.Done.AbsoluteUri,
                CancelUrl = wish.Back.AbsoluteUri,
            },
            Once($"joining-{joining}"), cancellationToken);
        return StripeReading.Checkout(session);
    });

    public Task<Checkout?> ReadCheckoutAsync(string checkoutId, CancellationToken cancellationToken) => AskAsync(stripe => FoundAsync(async () =>
        StripeReading.Checkout(await stripe.Checkout.Sessions.GetAsync(checkoutId, cancellationToken: cancellationToken))));

    public Task<Uri> OpenPortalAsync(string customerId, Uri back, CancellationToken cancellationToken) => AskAsync(async stripe =>
        new Uri((await stripe.BillingPortal.Sessions.CreateAsync(
            new Stripe.BillingPortal.SessionCreateOptions { Customer = customerId, ReturnUrl = back.AbsoluteUri }, cancellationToken: cancellationToken)).Url));

    public Task<ProviderMembership?> ReadMembershipAsync(string membershipId, CancellationToken cancellationToken) => AskAsync(stripe => FoundAsync(async () =>
    {
        var subscription = await stripe.Subscriptions.GetAsync(membershipId, new SubscriptionGetOptions { Expand = ["customer"] }, cancellationToken: cancellationToken);
        var invoices = await AllAsync(stripe.Invoices.ListAutoPagingAsync(
            new InvoiceListOptions { Subscription = membershipId, Limit = 100, Expand = ["data.payments"] }, cancellationToken: cancellationToken), cancellationToken);
        var returned = await ReturnedAsync(stripe, subscription.CustomerId, cancellationToken);
        return StripeReading.Membership(subscription, invoices, returned);
    }));

    public Task<string?> FindMembershipAsync(MessageSubject subject, CancellationToken cancellationToken) => AskAsync(stripe => FoundAsync(() => subject.Kind switch
    {
        SubjectKind.Membership => Task.FromResult<string?>(subject.Id),
        SubjectKind.Invoice => OfInvoiceAsync(stripe, subject.Id, cancellationToken),
        SubjectKind.Charge => OfChargeAsync(stripe, subject.Id, cancellationToken),
        SubjectKind.Dispute => OfDisputeAsync(stripe, subject.Id, cancellationToken),
        SubjectKind.Checkout => OfCheckoutAsync(stripe, subject.Id, cancellationToken),
        _ => throw new ArgumentOutOfRangeException(nameof(subject)),
    }));

    public async IAsyncEnumerable<string> ListMembershipsAsync([EnumeratorCancellation] CancellationToken cancellationToken)
    {
        var all = await AskAsync(stripe => AllAsync(stripe.Subscriptions.ListAutoPagingAsync(
            new SubscriptionListOptions { Status = "all", Limit = 100 }, cancellationToken: cancellationToken), cancellationToken));
        foreach (var subscription in all)
            yield return subscription.Id;
    }

    public Task LeaveAsync(string membershipId, bool goesOn, CancellationToken cancellationToken) => AskAsync(stripe => stripe.Subscriptions.UpdateAsync(
        membershipId, new SubscriptionUpdateOptions { CancelAtPeriodEnd = !goesOn }, cancellationToken: cancellationToken));

    public Task EndAsync(string membershipId, CancellationToken cancellationToken) => AskAsync(stripe => FoundAsync<Subscription>(async () =>
        await stripe.Subscriptions.CancelAsync(membershipId, new SubscriptionCancelOptions { Prorate = false }, cancellationToken: cancellationToken)));

    public Task RefundAsync(string paymentId, long? minor, string key, CancellationToken cancellationToken) => AskAsync(async stripe =>
    {
        var payments = await stripe.InvoicePayments.ListAsync(new InvoicePaymentListOptions { Invoice = paymentId, Limit = 10 }, cancellationToken: cancellationToken);
        var intent = payments.Data.Find(p => p.Status == "paid")?.Payment?.PaymentIntentId
            ?? throw new PaymentsUnreachableException(T("No money was taken for that invoice, so none can be paid back."));
        // The idempotency key is forgotten after a day; a wish tried again later finds what the first try did.
        await foreach (var made in stripe.Refunds.ListAutoPagingAsync(new RefundListOptions { PaymentIntent = intent, Limit = 100 }, cancellationToken: cancellationToken))
        {
            if (IsWish(made.Metadata, key) && made.Status is not ("failed" or "canceled"))
                return made;
        }
        return await stripe.Refunds.CreateAsync(
            new RefundCreateOptions { PaymentIntent = intent, Amount = minor, Metadata = Wish(key) }, Once(key), cancellationToken);
    });

    // A credit is a negative balance: what the customer owes less.
    public Task CreditAsync(string customerId, long minor, string currency, string why, string key, CancellationToken cancellationToken) => AskAsync(async stripe =>
    {
        await foreach (var made in stripe.Customers.BalanceTransactions.ListAutoPagingAsync(
            customerId, new CustomerBalanceTransactionListOptions { Limit = 100 }, cancellationToken: cancellationToken))
        {
            if (IsWish(made.Metadata, key))
                return made;
        }
        return await stripe.Customers.BalanceTransactions.CreateAsync(
            customerId,
            new CustomerBalanceTransactionCreateOptions { Amount = -minor, Currency = currency.ToLowerInvariant(), Description = why, Metadata = Wish(key) },
            Once(key), cancellationToken);
    });

    public Task ChangePriceAsync(string membershipId, string priceId, string key, CancellationToken cancellationToken) => AskAsync(async stripe =>
    {
        var subscription = await stripe.Subscriptions.GetAsync(membershipId, cancellationToken: cancellationToken);
        var item = new SubscriptionItemOptions { Id = subscription.Items.Data[0].Id, Price = priceId };
        return await stripe.Subscriptions.UpdateAsync(
            membershipId, new SubscriptionUpdateOptions { Items = [item], ProrationBehavior = "none" }, Once(key), cancellationToken);
    });

    public Task ChangeAddressAsync(string customerId, string email, CancellationToken cancellationToken) => AskAsync(stripe =>
        stripe.Customers.UpdateAsync(customerId, new CustomerUpdateOptions { Email = email }, cancellationToken: cancellationToken));

    /// <summary>Charges of this customer of which money went back: refunded, or disputed and lost.</summary>
    private static async Task<IReadOnlyList<Returned>> ReturnedAsync(V1Services stripe, string customerId, CancellationToken cancellationToken)
    {
        var returned = new List<Returned>();
        await foreach (var charge in stripe.Charges.ListAutoPagingAsync(
            new ChargeListOptions { Customer = customerId, Limit = 100 }, cancellationToken: cancellationToken))
        {
            if (charge.AmountRefunded == 0 && !charge.Disputed)
                continue;
            var refunds = charge.AmountRefunded == 0 ? [] : await AllAsync(stripe.Refunds.ListAutoPagingAsync(
                new RefundListOptions { Charge = charge.Id, Limit = 100 }, cancellationToken: cancellationToken), cancellationToken);
            var disputes = charge.Disputed ? await AllAsync(stripe.Disputes.ListAutoPagingAsync(
                new DisputeListOptions { Charge = charge.Id, Limit = 100 }, cancellationToken: cancellationToken), cancellationToken) : [];
            returned.Add(new Returned(charge, refunds, disputes));
        }
        return returned;
    }

    private static async Task<string?> OfInvoiceAsync(V1Services stripe, string id, CancellationToken cancellationToken) =>
        (await stripe.Invoices.GetAsync(id, cancellationToken: cancellationToken)).Parent?.SubscriptionDetails?.SubscriptionId;

    private static async Task<string?> OfChargeAsync(V1Services stripe, string id, CancellationToken cancellationToken)
    {
        var charge = await stripe.Charges.GetAsync(id, cancellationToken: cancellationToken);
        if (charge.PaymentIntentId is null)
            return null;
        var payment = new InvoicePaymentPaymentOptions { Type = "payment_intent", PaymentIntent = charge.PaymentIntentId };
        var payments = await stripe.InvoicePayments.ListAsync(new InvoicePaymentListOptions { Payment = payment, Limit = 1 }, cancellationToken: cancellationToken);
        return payments.Data.Count == 0 ? null : await OfInvoiceAsync(stripe, payments.Data[0].InvoiceId, cancellationToken);
    }

    private static async Task<string?> OfDisputeAsync(V1Services stripe, string id, CancellationToken cancellationToken) =>
        await OfChargeAsync(stripe, (await stripe.Disputes.GetAsync(id, cancellationToken: cancellationToken)).ChargeId, cancellationToken);

    private static async Task<string?> OfCheckoutAsync(V1Services stripe, string id, CancellationToken cancellationToken) =>
        (await stripe.Checkout.Sessions.GetAsync(id, cancellationToken: cancellationToken)).SubscriptionId;

    private static async Task<List<T>> AllAsync<T>(IAsyncEnumerable<T> pages, CancellationToken cancellationToken)
    {
        var all = new List<T>();
        await foreach (var one in pages.WithCancellation(cancellationToken))
            all.Add(one);
        return all;
    }

    private static bool IsSame(Price price, PriceWish wish) =>
        price.Active && price.UnitAmount == wish.Minor && string.Equals(price.Currency, wish.Currency, StringComparison.OrdinalIgnoreCase)
        && price.Recurring?.Interval == Interval(wish) && (price.TaxBehavior == "inclusive") == wish.IsTaxIncluded;

    private static string Interval(PriceWish wish) => wish.Months == 12 ? "year" : "month";

    private static Dictionary<string, string> Wish(string key) => new(StringComparer.Ordinal) { [WishKey] = key };

    private static bool IsWish(Dictionary<string, string>? metadata, string key) =>
        metadata is not null && metadata.TryGetValue(WishKey, out var wish) && wish == key;

    private static RequestOptions Once(string key) => new() { IdempotencyKey = $"shelf-{key}" };

    private static async Task<T?> FoundAsync<T>(Func<Task<T?>> ask)
        where T : class
    {
        try
        {
            return await ask();
        }
        catch (StripeException notThere) when (notThere.HttpStatusCode == HttpStatusCode.NotFound)
        {
            return null;
        }
    }

    private async Task<T> AskAsync<T>(Func<V1Services, Task<T>> ask)
    {
        if (stripe is null)
            throw new PaymentsUnreachableException(Say.T("No key of the payment provider is set, so it can’t be asked. Set Shelf:Payments:Key."));
        try
        {
            return await ask(stripe);
        }
        catch (StripeException refusal)
        {
            throw new PaymentsUnreachableException(Say.T($"The payment provider answered: {refusal.StripeError?.Message ?? refusal.Message}"), refusal);
        }
        catch (Exception away) when (away is HttpRequestException or TaskCanceledException { InnerException: TimeoutException })
        {
            throw new PaymentsUnreachableException(Say.T("The payment provider could not be reached. Nothing was changed as far as we know; try again in a minute."), away);
        }
    }
}
