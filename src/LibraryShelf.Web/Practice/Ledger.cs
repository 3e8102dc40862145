namespace LibraryShelf.Web.Practice;

/// <summary>Everything the stand-in knows, as it stands in its file. Amounts in the currency's smallest unit, instants in Unix seconds, as Stripe has them.</summary>
internal sealed class Ledger
{
    /// <summary>How far its clock is ahead of the machine's, seconds.</summary>
    public long AheadSeconds { get; set; }

    public List<PracticePrice> Prices { get; set; } = [];
    public List<PracticeCheckout> Checkouts { get; set; } = [];
    public List<PracticePortal> Portals { get; set; } = [];
    public List<PracticeCustomer> Customers { get; set; } = [];
    public List<PracticeSubscription> Subscriptions { get; set; } = [];
    public List<PracticeInvoice> Invoices { get; set; } = [];
    public List<PracticeCharge> Charges { get; set; } = [];
    public List<PracticeRefund> Refunds { get; set; } = [];
    public List<PracticeBalanceChange> BalanceChanges { get; set; } = [];
    public List<PracticeDispute> Disputes { get; set; } = [];

    /// <summary>Messages not delivered yet, oldest first.</summary>
    public List<PracticeMessage> Messages { get; set; } = [];

    /// <summary>Wishes answered in the last day, by their key.</summary>
    public Dictionary<string, KeptAnswer> Answers { get; set; } = new(StringComparer.Ordinal);
}

internal sealed class PracticePrice
{
    public required string Id { get; set; }
    public required string Name { get; set; }
    public required string Currency { get; set; }
    public required long Minor { get; set; }

    /// <summary>1 or 12.</summary>
    public required int Months { get; set; }
    public string? LookupKey { get; set; }
    public string? TaxBehavior { get; set; }
    public required long Created { get; set; }
}

internal sealed class PracticeCheckout
{
    public required string Id { get; set; }
    public required string PriceId { get; set; }
    public string? CustomerId { get; set; }
    public required string Email { get; set; }
    public required string SuccessUrl { get; set; }
    public required string CancelUrl { get; set; }
    public string? Reference { get; set; }
    public Dictionary<string, string> Metadata { get; set; } = new(StringComparer.Ordinal);
    public required long Created { get; set; }
    public required long ExpiresAt { get; set; }

    /// <summary>Null: not paid.</summary>
    public string? SubscriptionId { get; set; }
}

internal sealed class PracticePortal
{
    public required string Id { get; set; }
    public required string CustomerId { get; set; }
    public required string ReturnUrl { get; set; }
    public required long Created { get; set; }
    public required long ExpiresAt { get; set; }
}

internal sealed class PracticeCustomer
{
    public required string Id { get; set; }
    public required string Email { get; set; }
    public required long Created { get; set; }

    /// <summary>Below zero: a credit, taken off the next invoices.</summary>
    public long Balance { get; set; }

    /// <summary>The card is refused at every try.</summary>
    public bool IsCardRefused { get; set; }

    /// <summary>The card is refused once, at the next try.</summary>
    public bool IsNextTryRefused { get; set; }
}

internal sealed class PracticeSubscription
{
    public required string Id { get; set; }
    public required string ItemId { get; set; }
    public required string CustomerId { get; set; }
    public required string PriceId { get; set; }
    public Dictionary<string, string> Metadata { get; set; } = new(StringComparer.Ordinal);
    public required long Created { get; set; }

    /// <summary>Periods are counted from here, so that day 31 clamps and comes back.</summary>
    public long Anchor { get; set; }

    /// <summary>Periods begun since the anchor.</summary>
    public int Periods { get; set; }
    public long PeriodStart { get; set; }
    public long PeriodEnd { get; set; }

    /// <summary>active, past_due or canceled.</summary>
    public string Status { get; set; } = PracticeStatus.Active;
    public bool CancelsAtPeriodEnd { get; set; }
    public long? CanceledAt { get; set; }
    public long? EndedAt { get; set; }
}

internal sealed class PracticeInvoice
{
    public required string Id { get; set; }
    public required string CustomerId { get; set; }
    public required string SubscriptionId { get; set; }
    public required string Reason { get; set; }
    public required string Currency { get; set; }
    public required long Total { get; set; }

    /// <summary>Credit taken off the total.</summary>
    public long Credit { get; set; }
    public required long Created { get; set; }
    public required long PeriodStart { get; set; }
    public required long PeriodEnd { get; set; }

    /// <summary>open or paid.</summary>
    public string Status { get; set; } = PracticeStatus.Open;
    public int Tries { get; set; }
    public long? NextTry { get; set; }
    public long? PaidAt { get; set; }

    /// <summary>Null: not paid, or nothing was due.</summary>
    public string? PaymentIntent { get; set; }

    public long Due => Total - Credit;
}

internal sealed class PracticeCharge
{
    public required string Id { get; set; }
    public required string PaymentIntent { get; set; }
    public required string InvoiceId { get; set; }
    public required string CustomerId { get; set; }
    public required string Currency { get; set; }
    public required long Amount { get; set; }
    public required long Created { get; set; }
    public long Refunded { get; set; }
    public bool IsDisputed { get; set; }
}

internal sealed record PracticeRefund(string Id, string ChargeId, string PaymentIntent, string Currency, long Amount, long Created)
{
    public Dictionary<string, string> Metadata { get; init; } = new(StringComparer.Ordinal);
}

internal sealed record PracticeBalanceChange(string Id, string CustomerId, string Currency, long Amount, long EndingBalance, string? Description, long Created)
{
    public Dictionary<string, string> Metadata { get; init; } = new(StringComparer.Ordinal);
}

internal sealed class PracticeDispute
{
    public required string Id { get; set; }
    public required string ChargeId { get; set; }
    public required string PaymentIntent { get; set; }
    public required string Currency { get; set; }
    public required long Amount { get; set; }
    public required long Created { get; set; }

    /// <summary>needs_response or lost.</summary>
    public string Status { get; set; } = PracticeStatus.NeedsResponse;
}

internal sealed class PracticeMessage
{
    public required string Id { get; set; }
    public required string Body { get; set; }
    public int Tries { get; set; }
}

/// <param name="Asked">Fingerprint of what was asked: the same key for another wish is refused.</param>
internal sealed record KeptAnswer(string Asked, string Body, long Created);

/// <summary>Stripe's words for how things stand.</summary>
internal static class PracticeStatus
{
    public const string Active = "active", PastDue = "past_due", Canceled = "canceled", Open = "open", Paid = "paid",
        Lost = "lost", NeedsResponse = "needs_response";
}
