namespace LibraryShelf.Web.Practice;

/// <summary>
/// What happens by itself: a period ends, and the next is invoiced at that moment, or the membership ends; an unpaid invoice is tried again. The
/// provider leaves an invoice an hour before it takes the money; here it is taken at once.
/// </summary>
internal sealed partial class Billing
{
    private (long At, Action Act)? NextDue()
    {
        var retry = ledger.Invoices.Where(i => i.NextTry is not null).MinBy(i => i.NextTry);
        var turn = ledger.Subscriptions.Where(s => s.Status != PracticeStatus.Canceled).MinBy(s => s.PeriodEnd);
        if (retry?.NextTry is { } due && (turn is null || due <= turn.PeriodEnd))
            return (due, () => Try(retry, due, isPaidAnyway: false));
        return turn is null ? null : (turn.PeriodEnd, () => Turn(turn));
    }

    private void Turn(PracticeSubscription subscription)
    {
        if (subscription.CancelsAtPeriodEnd) End(subscription, subscription.PeriodEnd);
        else Begin(subscription, subscription.PeriodEnd, "subscription_cycle");
    }

    private void Begin(PracticeSubscription subscription, long at, string reason)
    {
        var price = Price(subscription.PriceId);
        subscription.Periods++;
        (subscription.PeriodStart, subscription.PeriodEnd) = (at, After(subscription.Anchor, subscription.Periods * price.Months));
        var customer = Customer(subscription.CustomerId);
        var credit = Math.Clamp(-customer.Balance, 0, price.Minor);
        customer.Balance += credit;
        var invoice = new PracticeInvoice
        {
            Id = NewId("in"), CustomerId = customer.Id, SubscriptionId = subscription.Id, Reason = reason, Currency = price.Currency, Total = price.Minor,
            Credit = credit, Created = at, PeriodStart = at, PeriodEnd = subscription.PeriodEnd,
        };
        ledger.Invoices.Add(invoice);
        Tell("customer.subscription.updated", Shapes.Subscription(this, subscription));
        Try(invoice, at, isPaidAnyway: false);
    }

    /// <summary>So many months after the anchor: its day, or the month's last where it has none such (vectors: 31 January, 28 February, 31 March).</summary>
    private static long After(long anchor, int months) =>
        DateTimeOffset.FromUnixTimeSeconds(anchor).AddMonths(months).ToUnixTimeSeconds();

    private void Try(PracticeInvoice invoice, long at, bool isPaidAnyway)
    {
        if (invoice.Status != PracticeStatus.Open)
            throw new Refusal(400, "invoice_not_open", $"Invoice {invoice.Id} is not open.");
        var customer = Customer(invoice.CustomerId);
        var isRefused = !isPaidAnyway && invoice.Due > 0 && (customer.IsCardRefused || customer.IsNextTryRefused);
        customer.IsNextTryRefused &= invoice.Due == 0;
        invoice.Tries++;
        if (isRefused) Fail(invoice, at);
        else Settle(invoice, at);
    }

    private void Settle(PracticeInvoice invoice, long at)
    {
        (invoice.Status, invoice.PaidAt, invoice.NextTry) = (PracticeStatus.Paid, at, null);
        if (invoice.Due > 0)
        {
            invoice.PaymentIntent = NewId("pi");
            ledger.Charges.Add(new PracticeCharge
            {
                Id = NewId("ch"), PaymentIntent = invoice.PaymentIntent, InvoiceId = invoice.Id, CustomerId = invoice.CustomerId, Currency = invoice.Currency,
                Amount = invoice.Due, Created = at,
            });
        }
        var subscription = Subscription(invoice.SubscriptionId);
        if (subscription.Status == PracticeStatus.PastDue && !OpenOf(subscription).Any())
        {
            subscription.Status = PracticeStatus.Active;
            Tell("customer.subscription.updated", Shapes.Subscription(this, subscription));
        }
        Tell("invoice.paid", Shapes.Invoice(this, invoice, withPayments: false));
    }

    private void Fail(PracticeInvoice invoice, long at)
    {
        var subscription = Subscription(invoice.SubscriptionId);
        invoice.NextTry = subscription.Status != PracticeStatus.Canceled && Array.Find(TriesAfterDays, d => invoice.Created + d * Day > at) is > 0 and var days
            ? invoice.Created + days * Day : null;
        Tell("invoice.payment_failed", Shapes.Invoice(this, invoice, withPayments: false));
        if (subscription.Status == PracticeStatus.Canceled)
            return;
        if (invoice.NextTry is null)
        {
            End(subscription, at);
            return;
        }
        subscription.Status = PracticeStatus.PastDue;
        Tell("customer.subscription.updated", Shapes.Subscription(this, subscription));
    }

    private void End(PracticeSubscription subscription, long at)
    {
        if (subscription.Status == PracticeStatus.Canceled)
            throw new Refusal(404, "resource_missing", $"No such subscription: '{subscription.Id}'");
        subscription.Status = PracticeStatus.Canceled;
        subscription.CanceledAt ??= at;
        subscription.EndedAt = at;
        foreach (var open in OpenOf(subscription))
            open.NextTry = null;
        Tell("customer.subscription.deleted", Shapes.Subscription(this, subscription));
    }

    private IEnumerable<PracticeInvoice> OpenOf(PracticeSubscription subscription) =>
        ledger.Invoices.Where(i => i.SubscriptionId == subscription.Id && i.Status == PracticeStatus.Open);
}
