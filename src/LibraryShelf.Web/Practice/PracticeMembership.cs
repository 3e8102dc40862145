using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Practice;

/// <summary>One membership as the practice pages show it, newest invoice first.</summary>
internal sealed record PracticeMembership(
    PracticeSubscription Subscription, PracticeCustomer Customer, PracticePrice Price, IReadOnlyList<PracticeInvoice> Invoices,
    IReadOnlyList<PracticeCharge> Charges, IReadOnlyList<PracticeDispute> Disputes)
{
    /// <summary>It has not ended.</summary>
    public bool Goes => Subscription.Status != PracticeStatus.Canceled;

    /// <returns>Newest first.</returns>
    public static IReadOnlyList<PracticeMembership> Of(Billing billing, Func<PracticeSubscription, bool> which) =>
        [.. billing.Ledger.Subscriptions.Where(which).Reverse().Select(s => Of(billing, s))];

    public string Sentence(DateTimeZone zone) => Subscription switch
    {
        { EndedAt: { } ended } => T($"It ended on {Day(ended, zone)}."),
        { Status: PracticeStatus.PastDue } => $"{T("The last renewal was not paid.")} {NextTry(zone)}",
        { CancelsAtPeriodEnd: true } => T($"It ends on {Day(Subscription.PeriodEnd, zone)}."),
        _ => T($"It goes on. The next renewal is on {Day(Subscription.PeriodEnd, zone)}."),
    };

    public string StateOf(PracticeInvoice invoice)
    {
        if (invoice.Status != PracticeStatus.Paid)
            return T("open");
        if (Charges.FirstOrDefault(c => c.InvoiceId == invoice.Id) is not { } charge)
            return T("settled by credit");
        if (Disputes.FirstOrDefault(d => d.ChargeId == charge.Id) is { } dispute)
            return dispute.Status == PracticeStatus.Lost ? T("disputed and lost") : T("disputed");
        return charge.Refunded == 0 ? T("paid") : charge.Refunded == charge.Amount ? T("paid back") : T("paid back in part");
    }

    /// <summary>Null: nothing was charged for it.</summary>
    public PracticeCharge? ChargeOf(PracticeInvoice invoice) => Charges.FirstOrDefault(c => c.InvoiceId == invoice.Id);

    private static PracticeMembership Of(Billing billing, PracticeSubscription subscription)
    {
        var ledger = billing.Ledger;
        var invoices = ledger.Invoices.Where(i => i.SubscriptionId == subscription.Id).Reverse().ToList();
        var charges = ledger.Charges.Where(c => invoices.Exists(i => i.Id == c.InvoiceId)).ToList();
        return new PracticeMembership(
            subscription, billing.Customer(subscription.CustomerId), billing.Price(subscription.PriceId), invoices, charges,
            [.. ledger.Disputes.Where(d => charges.Exists(c => c.Id == d.ChargeId))]);
    }

    private string NextTry(DateTimeZone zone) =>
        Invoices.FirstOrDefault(i => i.NextTry is not null)?.NextTry is { } next ? T($"The next try is on {Day(next, zone)}.") : "";

    private static string Day(long instant, DateTimeZone zone) => Dates.Day(DateTimeOffset.FromUnixTimeSeconds(instant), zone);
}
