using System.Globalization;
using LibraryShelf.Core.Payments;
using Stripe;
using Stripe.Checkout;

namespace LibraryShelf.Adapters.Payments;

/// <summary>A charge of which money went back, with how.</summary>
internal sealed record Returned(Charge Charge, IReadOnlyList<Refund> Refunds, IReadOnlyList<Dispute> Disputes);

/// <summary>Stripe's objects in our words: pure.</summary>
internal static class StripeReading
{
    /// <summary>Metadata on the subscription: which Joinings row led to it.</summary>
    public const string JoiningKey = "shelf_joining";

    /// <summary>Begins the lookup key of every price this shelf makes; the plan's number follows.</summary>
    public const string PriceKey = "shelf-plan-";

    /// <summary>A period longer than this pays for a year: months have at most 31 days.</summary>
    private static readonly TimeSpan LongestMonth = TimeSpan.FromDays(32);

    public static Checkout Checkout(Session session) => new(
        session.Id, session.Status == "open" && session.Url is not null ? new Uri(session.Url) : null,
        session.Status == "complete" && session.PaymentStatus is "paid" or "no_payment_required", session.SubscriptionId);

    public static ProviderMembership Membership(Subscription subscription, IReadOnlyList<Invoice> invoices, IReadOnlyList<Returned> returned)
    {
        var byIntent = returned.Where(r => r.Charge.PaymentIntentId is not null).ToLookup(r => r.Charge.PaymentIntentId, StringComparer.Ordinal);
        var joining = subscription.Metadata is not null && subscription.Metadata.TryGetValue(JoiningKey, out var text)
            && long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var id) ? id : (long?)null;
        // Incomplete: the first payment never came. Stripe ends it by itself after a day.
        var ended = subscription.EndedAt ?? (subscription.Status == "incomplete_expired" ? subscription.Created : null);
        return new ProviderMembership(
            subscription.Id, subscription.CustomerId, subscription.Customer?.Email ?? "", joining, subscription.Items?.Data.FirstOrDefault()?.Price?.Id,
            At(subscription.StartDate), LeavesAt(subscription), At(ended), subscription.PauseCollection is not null || subscription.Status == "paused",
            UnpaidSince(invoices), [.. invoices.Where(i => i.Status == "paid").Select(i => Payment(i, byIntent)).OfType<ProviderPayment>()])
        {
            IsOurs = subscription.Metadata?.ContainsKey(JoiningKey) == true || IsOurs(subscription.Items?.Data.FirstOrDefault()?.Price),
        };
    }

    private static bool IsOurs(Price? price) => price?.LookupKey?.StartsWith(PriceKey, StringComparison.Ordinal) == true;

    private static DateTimeOffset? LeavesAt(Subscription subscription) =>
        subscription.CancelAtPeriodEnd ? At(subscription.CancelAt ?? subscription.Items?.Data.FirstOrDefault()?.CurrentPeriodEnd) : At(subscription.CancelAt);

    /// <summary>The newest that is due and was tried in vain: one that is left open must not hide a later one.</summary>
    private static DateTimeOffset? UnpaidSince(IEnumerable<Invoice> invoices) =>
        invoices.Where(i => i.Status == "open" && i.AttemptCount > 0).Max(i => (DateTimeOffset?)At(i.Created));

    /// <summary>Null for an invoice that pays for no time: a settlement between two plans, or a trial.</summary>
    private static ProviderPayment? Payment(Invoice invoice, ILookup<string, Returned> byIntent)
    {
        var line = invoice.Lines.Data.Where(l => l.Amount > 0 && l.Parent?.SubscriptionItemDetails is { Proration: false }).MaxBy(l => l.Period.End);
        if (line is null)
            return null;
        var back = (invoice.Payments?.Data ?? []).Select(p => p.Payment?.PaymentIntentId).OfType<string>().SelectMany(intent => byIntent[intent]).ToList();
        var refunds = back.SelectMany(r => r.Refunds).Where(r => r.Status is "succeeded" or "pending").ToList();
        var lost = back.SelectMany(r => r.Disputes).Where(d => d.Status == "lost").ToList();
        var (start, end) = (At(line.Period.Start), At(line.Period.End));
        return new ProviderPayment(
            invoice.Id, invoice.AmountPaid, invoice.Currency.ToUpperInvariant(), end - start > LongestMonth ? 12 : 1, start, end,
            At(invoice.StatusTransitions?.PaidAt ?? invoice.Created), refunds.Sum(r => r.Amount),
            refunds.Count == 0 ? null : At(refunds.Max(r => r.Created)), lost.Count == 0 ? null : At(lost.Min(d => d.Created)), invoice.Total);
    }

    private static DateTimeOffset At(DateTime instant) => new(DateTime.SpecifyKind(instant, DateTimeKind.Utc));

    private static DateTimeOffset? At(DateTime? instant) => instant is { } known ? At(known) : null;
}
