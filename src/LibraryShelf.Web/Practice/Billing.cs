using System.Security.Cryptography;
using System.Text.Json.Nodes;

namespace LibraryShelf.Web.Practice;

/// <summary>What the stand-in does with money that does not move. <paramref name="now"/>: Unix seconds.</summary>
internal sealed partial class Billing(Ledger ledger, long now)
{
    public const long Day = 24 * 3600;

    /// <summary>An unpaid invoice is tried again so many days after the first try; when the last is in vain, the membership ends.</summary>
    private static readonly long[] TriesAfterDays = [3, 7, 14];

    public Ledger Ledger => ledger;

    public long Now => now;

    public static string NewId(string kind) => $"{kind}_practice_{RandomNumberGenerator.GetHexString(32, lowercase: true)}";

    /// <summary>Everything that fell due by now, in the order in which it did.</summary>
    public void CatchUp()
    {
        while (NextDue() is var (at, act) && at <= now)
            act();
    }

    /// <summary>Paid at once: the membership begins with its first invoice. False: the card was declined, and nothing was made.</summary>
    public bool Pay(PracticeCheckout checkout, bool isCardGood)
    {
        if (!isCardGood)
            return false;
        var customer = ledger.Customers.Find(c => c.Id == checkout.CustomerId);
        if (customer is null)
            ledger.Customers.Add(customer = new PracticeCustomer { Id = NewId("cus"), Email = checkout.Email, Created = now });
        (customer.IsCardRefused, customer.IsNextTryRefused) = (false, false);
        var subscription = new PracticeSubscription
        {
            Id = NewId("sub"), ItemId = NewId("si"), CustomerId = customer.Id, PriceId = checkout.PriceId, Metadata = checkout.Metadata, Created = now, Anchor = now,
        };
        ledger.Subscriptions.Add(subscription);
        (checkout.CustomerId, checkout.SubscriptionId) = (customer.Id, subscription.Id);
        Tell("customer.subscription.created", Shapes.Subscription(this, subscription));
        Begin(subscription, now, "subscription_create");
        Tell("checkout.session.completed", Shapes.Checkout(this, checkout));
        return true;
    }

    public void Leave(PracticeSubscription subscription, bool goesOn)
    {
        subscription.CancelsAtPeriodEnd = !goesOn;
        subscription.CanceledAt = goesOn ? null : now;
        Tell("customer.subscription.updated", Shapes.Subscription(this, subscription));
    }

    public void End(PracticeSubscription subscription) => End(subscription, now);

    /// <summary>The next period costs this. Another length of period begins now, and is invoiced now, as the provider does it.</summary>
    public void ChangePrice(PracticeSubscription subscription, PracticePrice price)
    {
        var isSameLength = Price(subscription.PriceId).Months == price.Months;
        subscription.PriceId = price.Id;
        Tell("customer.subscription.updated", Shapes.Subscription(this, subscription));
        if (isSameLength)
            return;
        (subscription.Anchor, subscription.Periods) = (now, 0);
        Begin(subscription, now, "subscription_update");
    }

    /// <summary>Tries the open invoice now. <paramref name="isPaidAnyway"/>: whatever the card says.</summary>
    /// <returns>False: the card was declined again.</returns>
    public bool PayOpen(PracticeInvoice invoice, bool isPaidAnyway)
    {
        Try(invoice, now, isPaidAnyway);
        return invoice.Status == PracticeStatus.Paid;
    }

    public PracticeRefund Refund(PracticeCharge charge, long? minor, Dictionary<string, string>? metadata = null)
    {
        var left = charge.Amount - charge.Refunded;
        var amount = minor ?? left;
        if (left == 0)
            throw new Refusal(400, "charge_already_refunded", $"Charge {charge.Id} has already been refunded.");
        if (amount < 1 || amount > left)
            throw new Refusal(400, "amount_too_large", $"Refund amount ({amount}) is greater than unrefunded amount on charge ({left}).");
        charge.Refunded += amount;
        var refund = new PracticeRefund(NewId("re"), charge.Id, charge.PaymentIntent, charge.Currency, amount, now) { Metadata = metadata ?? [] };
        ledger.Refunds.Add(refund);
        Tell("charge.refunded", Shapes.Charge(charge));
        return refund;
    }

    public PracticeDispute Dispute(PracticeCharge charge)
    {
        if (charge.IsDisputed)
            throw new Refusal(400, "charge_disputed", $"Charge {charge.Id} is disputed already.");
        charge.IsDisputed = true;
        var dispute = new PracticeDispute
        {
            Id = NewId("dp"), ChargeId = charge.Id, PaymentIntent = charge.PaymentIntent, Currency = charge.Currency, Amount = charge.Amount, Created = now,
        };
        ledger.Disputes.Add(dispute);
        Tell("charge.dispute.created", Shapes.Dispute(dispute));
        return dispute;
    }

    public void Lose(PracticeDispute dispute)
    {
        dispute.Status = PracticeStatus.Lost;
        Tell("charge.dispute.closed", Shapes.Dispute(dispute));
    }

    public PracticePrice Price(string id) => Known(ledger.Prices.Find(p => p.Id == id), "price", id);

    public PracticeCustomer Customer(string id) => Known(ledger.Customers.Find(c => c.Id == id), "customer", id);

    public PracticeSubscription Subscription(string id) => Known(ledger.Subscriptions.Find(s => s.Id == id), "subscription", id);

    public PracticeInvoice Invoice(string id) => Known(ledger.Invoices.Find(i => i.Id == id), "invoice", id);

    public PracticeCharge Charge(string id) => Known(ledger.Charges.Find(c => c.Id == id), "charge", id);

    public PracticeDispute Disputed(string id) => Known(ledger.Disputes.Find(d => d.Id == id), "dispute", id);

    public PracticeCheckout Checkout(string id) => Known(ledger.Checkouts.Find(c => c.Id == id), "checkout.session", id);

    private static T Known<T>(T? found, string kind, string id)
        where T : class => found ?? throw new Refusal(404, "resource_missing", $"No such {kind}: '{id}'");

    private void Tell(string kind, JsonObject about)
    {
        var id = NewId("evt");
        ledger.Messages.Add(new PracticeMessage { Id = id, Body = Shapes.Event(id, kind, now, about).ToJsonString() });
    }
}

/// <summary>A wish the stand-in refuses, in Stripe's form.</summary>
internal sealed class Refusal(int status, string code, string words) : Exception(words)
{
    public int Status => status;

    public string Code => code;
}
