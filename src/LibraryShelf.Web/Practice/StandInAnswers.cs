using System.Text.Json.Nodes;

namespace LibraryShelf.Web.Practice;

/// <summary>What the stand-in answers: one method for each thing that can be asked.</summary>
internal static class StandInAnswers
{
    private const long CheckoutSeconds = 24 * 3600;
    private const long PortalSeconds = 3600;

    public static JsonObject ListPrices(Ask ask)
    {
        var wanted = ask.Values.Where(v => v.Key.StartsWith("lookup_keys[", StringComparison.Ordinal)).Select(v => v.Value).ToHashSet(StringComparer.Ordinal);
        return List(ask, ask.Ledger.Prices.Where(p => wanted.Count == 0 || wanted.Contains(p.LookupKey ?? "")), p => p.Id, Shapes.Price, "/v1/prices");
    }

    public static JsonObject MakePrice(Ask ask)
    {
        var price = new PracticePrice
        {
            Id = Billing.NewId("price"), Name = ask["product_data[name]"] ?? "", Currency = ask.Needed("currency"),
            Minor = ask.Number("unit_amount") ?? throw new Refusal(400, "parameter_missing", "Missing required param: unit_amount."),
            Months = ask["recurring[interval]"] == "year" ? 12 : 1, LookupKey = ask["lookup_key"], TaxBehavior = ask["tax_behavior"], Created = ask.Billing.Now,
        };
        if (price.LookupKey is not null && ask.Ledger.Prices.Exists(p => p.LookupKey == price.LookupKey))
            throw new Refusal(400, "resource_already_exists", $"A price with the lookup key '{price.LookupKey}' already exists.");
        ask.Ledger.Prices.Add(price);
        return Shapes.Price(price);
    }

    public static JsonObject OpenCheckout(Ask ask)
    {
        var customer = ask["customer"] is { } id ? ask.Billing.Customer(id) : null;
        var checkout = new PracticeCheckout
        {
            Id = Billing.NewId("cs"), PriceId = ask.Billing.Price(ask.Needed("line_items[0][price]")).Id, CustomerId = customer?.Id,
            Email = customer?.Email ?? ask["customer_email"] ?? "", SuccessUrl = ask.Needed("success_url"), CancelUrl = ask["cancel_url"] ?? ask.Needed("success_url"),
            Reference = ask["client_reference_id"], Metadata = ask.Under("subscription_data[metadata]"),
            Created = ask.Billing.Now, ExpiresAt = ask.Billing.Now + CheckoutSeconds,
        };
        ask.Ledger.Checkouts.Add(checkout);
        return Shapes.Checkout(ask.Billing, checkout);
    }

    public static JsonObject ReadCheckout(Ask ask) => Shapes.Checkout(ask.Billing, ask.Billing.Checkout(ask.Id));

    public static JsonObject OpenPortal(Ask ask)
    {
        var portal = new PracticePortal
        {
            Id = Billing.NewId("bps"), CustomerId = ask.Billing.Customer(ask.Needed("customer")).Id, ReturnUrl = ask.Needed("return_url"),
            Created = ask.Billing.Now, ExpiresAt = ask.Billing.Now + PortalSeconds,
        };
        ask.Ledger.Portals.RemoveAll(p => p.ExpiresAt < ask.Billing.Now);
        ask.Ledger.Portals.Add(portal);
        return Shapes.Portal(portal);
    }

    public static JsonObject ListSubscriptions(Ask ask) => List(
        ask, ask.Ledger.Subscriptions.Where(s => ask["status"] == "all" || s.Status != PracticeStatus.Canceled), s => s.Id,
        s => Shapes.Subscription(ask.Billing, s), "/v1/subscriptions");

    public static JsonObject ReadSubscription(Ask ask) => Shapes.Subscription(ask.Billing, ask.Billing.Subscription(ask.Id), ask.Expands("customer"));

    public static JsonObject ChangeSubscription(Ask ask)
    {
        var subscription = ask.Billing.Subscription(ask.Id);
        if (subscription.Status == PracticeStatus.Canceled)
            throw new Refusal(400, "resource_missing", "A canceled subscription can only update its cancellation_details and metadata.");
        if (ask["cancel_at_period_end"] is { } leaves)
            ask.Billing.Leave(subscription, goesOn: leaves == "false");
        if (ask["items[0][price]"] is { } price)
        {
            if (ask["items[0][id]"] != subscription.ItemId)
                throw new Refusal(400, "resource_missing", $"No such subscription item: '{ask["items[0][id]"]}'");
            ask.Billing.ChangePrice(subscription, ask.Billing.Price(price));
        }
        return Shapes.Subscription(ask.Billing, subscription);
    }

    public static JsonObject EndSubscription(Ask ask)
    {
        var subscription = ask.Billing.Subscription(ask.Id);
        ask.Billing.End(subscription);
        return Shapes.Subscription(ask.Billing, subscription);
    }

    public static JsonObject ListInvoices(Ask ask) => List(
        ask, ask.Ledger.Invoices.Where(i => ask["subscription"] is not { } wanted || i.SubscriptionId == wanted), i => i.Id,
        i => Shapes.Invoice(ask.Billing, i, ask.Expands("data.payments")), "/v1/invoices");

    public static JsonObject ReadInvoice(Ask ask) => Shapes.Invoice(ask.Billing, ask.Billing.Invoice(ask.Id), ask.Expands("payments"));

    public static JsonObject ListInvoicePayments(Ask ask) => List(
        ask, ask.Ledger.Invoices.Where(i => i.PaymentIntent is not null && (ask["invoice"] is not { } wanted || i.Id == wanted)
            && (ask["payment[payment_intent]"] is not { } intent || i.PaymentIntent == intent)),
        i => i.Id, i => Shapes.Payments(i).Single(), "/v1/invoice_payments");

    public static JsonObject ListCharges(Ask ask) => List(
        ask, ask.Ledger.Charges.Where(c => ask["customer"] is not { } wanted || c.CustomerId == wanted), c => c.Id, Shapes.Charge, "/v1/charges");

    public static JsonObject ReadCharge(Ask ask) => Shapes.Charge(ask.Billing.Charge(ask.Id));

    public static JsonObject ListRefunds(Ask ask) => List(
        ask, ask.Ledger.Refunds.Where(r => (ask["charge"] is not { } wanted || r.ChargeId == wanted)
            && (ask["payment_intent"] is not { } intent || r.PaymentIntent == intent)), r => r.Id, Shapes.Refund, "/v1/refunds");

    public static JsonObject MakeRefund(Ask ask)
    {
        var intent = ask.Needed("payment_intent");
        var charge = ask.Ledger.Charges.Find(c => c.PaymentIntent == intent)
            ?? throw new Refusal(404, "resource_missing", $"No such payment_intent: '{intent}'");
        return Shapes.Refund(ask.Billing.Refund(charge, ask.Number("amount"), ask.Under("metadata")));
    }

    public static JsonObject ListDisputes(Ask ask) => List(
        ask, ask.Ledger.Disputes.Where(d => ask["charge"] is not { } wanted || d.ChargeId == wanted), d => d.Id, Shapes.Dispute, "/v1/disputes");

    public static JsonObject ReadDispute(Ask ask) => Shapes.Dispute(ask.Billing.Disputed(ask.Id));

    public static JsonObject ChangeCustomer(Ask ask)
    {
        var customer = ask.Billing.Customer(ask.Id);
        customer.Email = ask["email"] ?? customer.Email;
        return Shapes.Customer(customer);
    }

    /// <summary>Below zero: a credit.</summary>
    public static JsonObject ChangeBalance(Ask ask)
    {
        var customer = ask.Billing.Customer(ask.Id);
        var amount = ask.Number("amount") ?? throw new Refusal(400, "parameter_missing", "Missing required param: amount.");
        customer.Balance += amount;
        var change = new PracticeBalanceChange(
            Billing.NewId("cbtxn"), customer.Id, ask.Needed("currency"), amount, customer.Balance, ask["description"], ask.Billing.Now) { Metadata = ask.Under("metadata") };
        ask.Ledger.BalanceChanges.Add(change);
        return Shapes.BalanceChange(change);
    }

    public static JsonObject ListBalance(Ask ask) => List(
        ask, ask.Ledger.BalanceChanges.Where(c => c.CustomerId == ask.Billing.Customer(ask.Id).Id), c => c.Id, Shapes.BalanceChange,
        $"/v1/customers/{ask.Id}/balance_transactions");

    private static JsonObject List<T>(Ask ask, IEnumerable<T> oldestFirst, Func<T, string> id, Func<T, JsonNode> shape, string path)
    {
        var (rows, hasMore) = ask.Page(oldestFirst, id);
        return Shapes.Page(rows.Select(shape), hasMore, path);
    }
}
