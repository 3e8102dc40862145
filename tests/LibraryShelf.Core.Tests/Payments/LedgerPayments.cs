using System.Runtime.CompilerServices;
using LibraryShelf.Core.Payments;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>
/// A provider in memory. What it knows of a membership is a list of dated happenings; asked, it tells what they come to by the clock of now. Charges,
/// disputes and payment pages are named after the invoice or membership they belong to ("ch_in_1", "dp_in_1", "cs_sub_1").
/// </summary>
internal sealed class LedgerPayments(TimeProvider clock) : IPayments
{
    private readonly Dictionary<string, List<(DateTimeOffset At, Func<ProviderMembership?, ProviderMembership> Change)>> ledger = new(StringComparer.Ordinal);

    /// <summary>Can't be reached.</summary>
    public bool IsAway { get; set; }

    /// <summary>Wishes that change something, as they came.</summary>
    public List<string> Wishes { get; } = [];

    /// <summary>Names of memberships that were read.</summary>
    public List<string> Reads { get; } = [];

    /// <summary>What is told of this membership can't be read.</summary>
    public string? Garbled { get; set; }

    public CheckoutWish? Wish { get; private set; }

    /// <summary>How payment pages stand.</summary>
    public Dictionary<string, Checkout> Checkouts { get; } = new(StringComparer.Ordinal);

    /// <summary>Runs once between a read and its answer's arrival.</summary>
    public Func<Task>? OnTheWay { get; set; }

    public bool IsOpen { get; set; } = true;

    public bool IsPractice => false;

    public string? PagesOrigin => null;

    public void Begins(ProviderMembership membership) => Happens(membership.Id, membership.StartedAt, _ => membership);

    public void Happens(string id, DateTimeOffset at, Func<ProviderMembership, ProviderMembership> change)
    {
        if (!ledger.TryGetValue(id, out var happenings))
            ledger[id] = happenings = [];
        happenings.Add((at, before => change(before!)));
    }

    /// <summary>Happens now.</summary>
    public void Happens(string id, Func<ProviderMembership, ProviderMembership> change) => Happens(id, clock.GetUtcNow(), change);

    public Task<string> MakePriceAsync(PriceWish wish, CancellationToken cancellationToken) => Answer($"price_{wish.PlanId}");

    public Task<Checkout> OpenCheckoutAsync(CheckoutWish wish, CancellationToken cancellationToken)
    {
        Wish = wish;
        var opened = new Checkout($"cs_{wish.JoiningId}", new Uri("https://pay.example/page"), IsPaid: false, MembershipId: null);
        Checkouts[opened.Id] = opened;
        return Answer(opened);
    }

    public Task<Checkout?> ReadCheckoutAsync(string checkoutId, CancellationToken cancellationToken) => Answer(Checkouts.GetValueOrDefault(checkoutId));

    public Task<Uri> OpenPortalAsync(string customerId, Uri back, CancellationToken cancellationToken) => Answer(new Uri("https://pay.example/portal"));

    public async Task<ProviderMembership?> ReadMembershipAsync(string membershipId, CancellationToken cancellationToken)
    {
        Reads.Add(membershipId);
        if (membershipId == Garbled)
            throw new FormatException("It can't be read.");
        var told = await Answer(Told(membershipId));
        if (OnTheWay is { } meanwhile)
        {
            OnTheWay = null;
            await meanwhile();
        }
        return told;
    }

    public Task<string?> FindMembershipAsync(MessageSubject subject, CancellationToken cancellationToken) => Answer(subject.Kind switch
    {
        SubjectKind.Membership => subject.Id,
        SubjectKind.Checkout => subject.Id.Replace("cs_", "", StringComparison.Ordinal),
        _ => ledger.Keys.FirstOrDefault(id => Told(id)?.Payments.Any(p => subject.Id == p.Id || subject.Id[3..] == p.Id) == true),
    });

    public async IAsyncEnumerable<string> ListMembershipsAsync([EnumeratorCancellation] CancellationToken cancellationToken)
    {
        foreach (var id in await Answer(ledger.Keys.Where(id => Told(id) is not null).ToList()))
            yield return id;
    }

    public Task LeaveAsync(string membershipId, bool goesOn, CancellationToken cancellationToken) => Do(
        $"leave {membershipId} {goesOn}", membershipId, m => m with { LeavesAt = goesOn ? null : EndOfPeriod(m) });

    /// <summary>Of the period that runs, also when it is not paid.</summary>
    private DateTimeOffset EndOfPeriod(ProviderMembership m)
    {
        var end = m.Payments.Max(p => p.PeriodEnd);
        while (end <= clock.GetUtcNow())
            end = end.AddMonths(1);
        return end;
    }

    public Task EndAsync(string membershipId, CancellationToken cancellationToken) =>
        Do($"end {membershipId}", membershipId, m => m with { EndedAt = clock.GetUtcNow() });

    public Task RefundAsync(string paymentId, long? minor, string key, CancellationToken cancellationToken) => Do(
        $"refund {paymentId} {minor} {key}", ledger.Keys.First(id => Told(id)?.Payments.Any(p => p.Id == paymentId) == true),
        m => m.With(paymentId, p => p with { RefundedMinor = minor is { } part ? p.RefundedMinor + part : p.Minor, RefundedAt = clock.GetUtcNow() }));

    public Task CreditAsync(string customerId, long minor, string currency, string why, string key, CancellationToken cancellationToken) =>
        Once($"credit {customerId} {minor} {currency} {key}");

    public Task ChangePriceAsync(string membershipId, string priceId, string key, CancellationToken cancellationToken) =>
        Do($"price {membershipId} {priceId} {key}", membershipId, m => m with { PriceId = priceId });

    public Task ChangeAddressAsync(string customerId, string email, CancellationToken cancellationToken)
    {
        var all = ledger.Keys.Where(id => Told(id)?.CustomerId == customerId).ToList();
        return all.Count == 0
            ? Task.FromException(new PaymentsUnreachableException($"No such customer: {customerId}"))
            : Task.WhenAll(all.Select(id => Do($"address {customerId} {email}", id, m => m with { Email = email })));
    }

    public ProviderMessage ReadMessage(ReadOnlyMemory<byte> body, string? signature) => throw new NotSupportedException();

    /// <summary>What happened by now, in the order of its dates.</summary>
    private ProviderMembership? Told(string id)
    {
        if (!ledger.TryGetValue(id, out var happenings))
            return null;
        var now = clock.GetUtcNow();
        return happenings.Where(h => h.At <= now).OrderBy(h => h.At).Aggregate((ProviderMembership?)null, (told, h) => h.Change(told));
    }

    private Task Do(string wish, string id, Func<ProviderMembership, ProviderMembership> change)
    {
        if (IsAway || (Refuses is { } word && wish.StartsWith(word, StringComparison.Ordinal)))
            return Task.FromException(new PaymentsUnreachableException("The provider is away."));
        Wishes.Add(wish);
        Happens(id, change);
        return Task.CompletedTask;
    }

    /// <summary>The same key does nothing again.</summary>
    private Task Once(string wish)
    {
        if (IsAway || (Refuses is { } word && wish.StartsWith(word, StringComparison.Ordinal)))
            return Task.FromException(new PaymentsUnreachableException("The provider is away."));
        if (!Wishes.Contains(wish))
            Wishes.Add(wish);
        return Task.CompletedTask;
    }

    /// <summary>Wishes that begin so are refused.</summary>
    public string? Refuses { get; set; }

    private Task<T> Answer<T>(T answer) => IsAway ? Task.FromException<T>(new PaymentsUnreachableException("The provider is away.")) : Task.FromResult(answer);
}

internal static class Told
{
    /// <summary>A membership just begun by its first payment of nine euros.</summary>
    public static ProviderMembership Begun(string id, DateTimeOffset at, string email = "wren@post.example", long? joiningId = null, int months = 1) => new(
        id, $"cus_{id}", email, joiningId, null, at, null, null, false, null, [Payment($"in_{id}_0", at, months)]);

    public static ProviderPayment Payment(string id, DateTimeOffset period, int months = 1, DateTimeOffset? paid = null) =>
        new(id, 900, "EUR", months, period, period.AddMonths(months), paid ?? period, 0, null, null, 900);

    public static ProviderMembership With(this ProviderMembership membership, string paymentId, Func<ProviderPayment, ProviderPayment> change) =>
        membership with { Payments = [.. membership.Payments.Select(p => p.Id == paymentId ? change(p) : p)] };

    public static ProviderMembership Paid(this ProviderMembership membership, ProviderPayment payment) =>
        membership with { Payments = [.. membership.Payments, payment], UnpaidSince = null };
}
