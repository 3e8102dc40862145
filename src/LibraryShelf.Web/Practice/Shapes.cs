using System.Text.Json.Nodes;
using Stripe;

namespace LibraryShelf.Web.Practice;

/// <summary>The ledger's entries as Stripe's API documents them (docs.stripe.com/api): the fields the shelf reads, and what names them.</summary>
internal static class Shapes
{
    public static JsonObject Event(string id, string kind, long at, JsonObject about) => new()
    {
        ["id"] = id, ["object"] = "event", ["api_version"] = StripeConfiguration.ApiVersion, ["created"] = at, ["livemode"] = false, ["type"] = kind,
        ["data"] = new JsonObject { ["object"] = about },
    };

    public static JsonObject Page(IEnumerable<JsonNode> data, bool hasMore, string path) => new()
    {
        ["object"] = "list", ["url"] = path, ["has_more"] = hasMore, ["data"] = new JsonArray([.. data]),
    };

    public static JsonObject Price(PracticePrice price) => new()
    {
        ["id"] = price.Id, ["object"] = "price", ["active"] = true, ["livemode"] = false, ["created"] = price.Created, ["type"] = "recurring",
        ["currency"] = price.Currency, ["unit_amount"] = price.Minor, ["lookup_key"] = price.LookupKey, ["tax_behavior"] = price.TaxBehavior ?? "unspecified",
        ["recurring"] = new JsonObject { ["interval"] = price.Months == 12 ? "year" : "month", ["interval_count"] = 1, ["usage_type"] = "licensed" },
        ["metadata"] = new JsonObject(),
    };

    public static JsonObject Checkout(Billing billing, PracticeCheckout checkout)
    {
        var status = checkout.SubscriptionId is not null ? "complete" : checkout.ExpiresAt > billing.Now ? "open" : "expired";
        return new JsonObject
        {
            ["id"] = checkout.Id, ["object"] = "checkout.session", ["livemode"] = false, ["created"] = checkout.Created, ["expires_at"] = checkout.ExpiresAt,
            ["mode"] = "subscription", ["status"] = status, ["payment_status"] = status == "complete" ? "paid" : "unpaid",
            ["subscription"] = checkout.SubscriptionId, ["customer"] = checkout.CustomerId, ["customer_email"] = checkout.Email,
            ["client_reference_id"] = checkout.Reference, ["success_url"] = checkout.SuccessUrl, ["cancel_url"] = checkout.CancelUrl,
            ["url"] = status == "open" ? PracticePlaces.At(checkout.SuccessUrl, PracticePlaces.Checkout(checkout.Id)) : null,
        };
    }

    public static JsonObject Portal(PracticePortal portal) => new()
    {
        ["id"] = portal.Id, ["object"] = "billing_portal.session", ["livemode"] = false, ["created"] = portal.Created, ["customer"] = portal.CustomerId,
        ["return_url"] = portal.ReturnUrl, ["url"] = PracticePlaces.At(portal.ReturnUrl, PracticePlaces.Portal(portal.Id)),
    };

    public static JsonObject Customer(PracticeCustomer customer) => new()
    {
        ["id"] = customer.Id, ["object"] = "customer", ["livemode"] = false, ["created"] = customer.Created, ["email"] = customer.Email,
        ["balance"] = customer.Balance, ["metadata"] = new JsonObject(),
    };

    public static JsonObject Subscription(Billing billing, PracticeSubscription subscription, bool withCustomer = false)
    {
        var item = new JsonObject
        {
            ["id"] = subscription.ItemId, ["object"] = "subscription_item", ["created"] = subscription.Created, ["subscription"] = subscription.Id,
            ["quantity"] = 1, ["price"] = Price(billing.Price(subscription.PriceId)),
            ["current_period_start"] = subscription.PeriodStart, ["current_period_end"] = subscription.PeriodEnd,
        };
        return new JsonObject
        {
            ["id"] = subscription.Id, ["object"] = "subscription", ["livemode"] = false, ["status"] = subscription.Status,
            ["customer"] = withCustomer ? Customer(billing.Customer(subscription.CustomerId)) : subscription.CustomerId,
            ["created"] = subscription.Created, ["start_date"] = subscription.Created, ["billing_cycle_anchor"] = subscription.Anchor,
            ["cancel_at_period_end"] = subscription.CancelsAtPeriodEnd && subscription.EndedAt is null,
            ["cancel_at"] = subscription.CancelsAtPeriodEnd ? subscription.PeriodEnd : null,
            ["canceled_at"] = subscription.CanceledAt, ["ended_at"] = subscription.EndedAt, ["pause_collection"] = null,
            ["metadata"] = Metadata(subscription.Metadata), ["items"] = Page([item], hasMore: false, "/v1/subscription_items"),
        };
    }

    public static JsonObject Invoice(Billing billing, PracticeInvoice invoice, bool withPayments)
    {
        var isPaid = invoice.Status == PracticeStatus.Paid;
        var shape = new JsonObject
        {
            ["id"] = invoice.Id, ["object"] = "invoice", ["livemode"] = false, ["status"] = invoice.Status, ["customer"] = invoice.CustomerId,
            ["currency"] = invoice.Currency, ["created"] = invoice.Created, ["billing_reason"] = invoice.Reason,
            ["total"] = invoice.Total, ["subtotal"] = invoice.Total, ["amount_due"] = invoice.Due, ["amount_paid"] = isPaid ? invoice.Due : 0,
            ["amount_remaining"] = isPaid ? 0 : invoice.Due, ["attempt_count"] = invoice.Tries, ["attempted"] = invoice.Tries > 0,
            ["next_payment_attempt"] = invoice.NextTry, ["period_start"] = invoice.PeriodStart, ["period_end"] = invoice.PeriodEnd,
            ["status_transitions"] = new JsonObject { ["finalized_at"] = invoice.Created, ["paid_at"] = invoice.PaidAt },
            ["parent"] = new JsonObject
            {
                ["type"] = "subscription_details", ["subscription_details"] = new JsonObject { ["subscription"] = invoice.SubscriptionId },
            },
            ["lines"] = Page([Line(billing, invoice)], hasMore: false, $"/v1/invoices/{invoice.Id}/lines"),
        };
        if (withPayments)
            shape["payments"] = Page(Payments(invoice), hasMore: false, "/v1/invoice_payments");
        return shape;
    }

    /// <summary>None when nothing was due.</summary>
    public static IEnumerable<JsonObject> Payments(PracticeInvoice invoice)
    {
        if (invoice.PaymentIntent is not { } intent)
            yield break;
        yield return new JsonObject
        {
            ["id"] = "inpay" + intent[2..], ["object"] = "invoice_payment", ["livemode"] = false, ["status"] = "paid", ["invoice"] = invoice.Id,
            ["currency"] = invoice.Currency, ["amount_paid"] = invoice.Due, ["amount_requested"] = invoice.Due, ["created"] = invoice.PaidAt, ["is_default"] = true,
            ["payment"] = new JsonObject { ["type"] = "payment_intent", ["payment_intent"] = intent },
        };
    }

    public static JsonObject Charge(PracticeCharge charge) => new()
    {
        ["id"] = charge.Id, ["object"] = "charge", ["livemode"] = false, ["status"] = "succeeded", ["paid"] = true, ["captured"] = true,
        ["customer"] = charge.CustomerId, ["payment_intent"] = charge.PaymentIntent, ["currency"] = charge.Currency, ["amount"] = charge.Amount,
        ["amount_refunded"] = charge.Refunded, ["refunded"] = charge.Refunded == charge.Amount, ["disputed"] = charge.IsDisputed, ["created"] = charge.Created,
    };

    public static JsonObject Refund(PracticeRefund refund) => new()
    {
        ["id"] = refund.Id, ["object"] = "refund", ["status"] = "succeeded", ["charge"] = refund.ChargeId, ["payment_intent"] = refund.PaymentIntent,
        ["currency"] = refund.Currency, ["amount"] = refund.Amount, ["created"] = refund.Created, ["metadata"] = Metadata(refund.Metadata),
    };

    public static JsonObject BalanceChange(PracticeBalanceChange change) => new()
    {
        ["id"] = change.Id, ["object"] = "customer_balance_transaction", ["livemode"] = false, ["created"] = change.Created, ["customer"] = change.CustomerId,
        ["amount"] = change.Amount, ["currency"] = change.Currency, ["ending_balance"] = change.EndingBalance, ["description"] = change.Description,
        ["type"] = "adjustment", ["metadata"] = Metadata(change.Metadata),
    };

    public static JsonObject Dispute(PracticeDispute dispute) => new()
    {
        ["id"] = dispute.Id, ["object"] = "dispute", ["livemode"] = false, ["status"] = dispute.Status, ["charge"] = dispute.ChargeId,
        ["payment_intent"] = dispute.PaymentIntent, ["currency"] = dispute.Currency, ["amount"] = dispute.Amount, ["created"] = dispute.Created,
    };

    private static JsonObject Metadata(Dictionary<string, string> kept) => new(kept.Select(m => KeyValuePair.Create(m.Key, (JsonNode?)m.Value)));

    private static JsonObject Line(Billing billing, PracticeInvoice invoice) => new()
    {
        ["id"] = "il" + invoice.Id[2..], ["object"] = "line_item", ["livemode"] = false, ["invoice"] = invoice.Id, ["currency"] = invoice.Currency,
        ["amount"] = invoice.Total, ["quantity"] = 1,
        ["period"] = new JsonObject { ["start"] = invoice.PeriodStart, ["end"] = invoice.PeriodEnd },
        ["parent"] = new JsonObject
        {
            ["type"] = "subscription_item_details",
            ["subscription_item_details"] = new JsonObject
            {
                ["proration"] = false, ["subscription"] = invoice.SubscriptionId, ["subscription_item"] = billing.Subscription(invoice.SubscriptionId).ItemId,
            },
        },
    };
}
