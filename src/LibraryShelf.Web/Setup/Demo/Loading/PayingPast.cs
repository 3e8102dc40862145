using LibraryShelf.Web.Practice;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>
/// An invented year of people who pay, told to the payment provider's stand-in day by day: they join, more of them each month, some leave, some come back, some cards are
/// refused once or for good. The same on any machine, but for the stand-in's random names.
/// </summary>
internal sealed class PayingPast
{
    private const int Months = 13;
    private const int LeastAMonth = 3;
    private const double LeavesEachMonth = 0.07, FailsEachMonth = 0.03, CardIsGone = 0.35, ComesBack = 0.3, TriedFreeFirst = 0.4, JustTries = 0.8;

    private static readonly string[] First = ["Aled", "Bryn", "Cora", "Dilys", "Elan", "Ffion", "Gwil", "Hetty", "Ivo", "Jessa", "Kerra", "Lowen", "Merryn", "Nessa", "Orla", "Perran"];
    private static readonly string[] Last = ["Bittern", "Curlew", "Dabchick", "Eider", "Fulmar", "Godwit", "Knot", "Lapwing", "Merganser", "Pintail", "Ruff", "Sanderling"];

    private readonly SplitMix _chance = SplitMix.For("people who pay");
    private readonly List<(DateTimeOffset At, Action<Billing> Act)> _turns = [];
    private readonly DateTimeOffset _now;
    private readonly PracticePrice _price;

    /// <param name="price">What all of them pay.</param>
    /// <param name="opened">Nobody joins before.</param>
    /// <param name="now">Nothing happens after.</param>
    public PayingPast(PracticePrice price, DateTimeOffset opened, DateTimeOffset now)
    {
        (_price, _now) = (price, now);
        Ledger.Prices.Add(price);
        var many = 0;
        for (var ago = Months - 1; ago >= 0; ago--)
        {
            var joining = LeastAMonth + ((Months - 1 - ago) / 3) + (int)(3 * _chance.Unit());
            for (var i = 0; i < joining; i++)
            {
                var at = now.AddDays(-30.4 * (ago + _chance.Unit()));
                var email = $"{First[many % First.Length]}.{Last[((many * 7) + (many / 48)) % Last.Length]}@example.org".ToLowerInvariant();
                // After 48 each first name would meet the same last ones again.
                many++;
                if (at > opened)
                    Join(email, at);
            }
        }
    }

    public Ledger Ledger { get; } = new();

    /// <summary>First free downloads, by address; of those who joined after it, and of some who never did.</summary>
    public Dictionary<string, DateTimeOffset> Free { get; } = new(StringComparer.Ordinal);

    /// <summary>Income at the ends of months, as the stand-in's memberships stood: those that go on.</summary>
    public List<(DateTimeOffset At, long Minor, int Memberships)> Income { get; } = [];

    /// <param name="ends">The last moments of months that are over.</param>
    public void Happen(IEnumerable<DateTimeOffset> ends)
    {
        foreach (var end in ends)
            _turns.Add((end, billing =>
            {
                var goOn = billing.Ledger.Subscriptions.Count(s => s.Status != PracticeStatus.Canceled && !s.CancelsAtPeriodEnd);
                Income.Add((end, goOn * _price.Minor, goOn));
            }));
        foreach (var (at, act) in _turns.OrderBy(t => t.At).Append((_now, _ => { })))
        {
            var billing = new Billing(Ledger, at.ToUnixTimeSeconds());
            billing.CatchUp();
            act(billing);
        }
        // What they would tell a shelf stands on it when it is first started.
        Ledger.Messages.Clear();
    }

    private void Join(string email, DateTimeOffset at)
    {
        if (_chance.Unit() < TriedFreeFirst)
            Free[email] = at.AddDays(-60 * _chance.Unit() * _chance.Unit());
        if (_chance.Unit() < JustTries / 2)
            Free[$"just.{email}"] = at.AddDays(-20 * _chance.Unit());
        Pay(email, at);
        // Month after month, until they leave or now is come.
        for (var month = 1; at.AddMonths(month) < _now; month++)
        {
            var due = at.AddMonths(month);
            if (_chance.Unit() < LeavesEachMonth)
            {
                Turn(due.AddDays(-6 * _chance.Unit() - 1), email, (billing, s) => billing.Leave(s, goesOn: false));
                if (_chance.Unit() < ComesBack && due.AddDays(70) < _now)
                    Pay(email, due.AddDays(10 + (55 * _chance.Unit())));
                return;
            }
            if (_chance.Unit() >= FailsEachMonth)
                continue;
            var isGone = _chance.Unit() < CardIsGone;
            Turn(due.AddHours(-2), email, (billing, s) =>
            {
                var customer = billing.Customer(s.CustomerId);
                (customer.IsCardRefused, customer.IsNextTryRefused) = (isGone, true);
            });
            if (isGone)
                return;
        }
    }

    private void Pay(string email, DateTimeOffset at) => _turns.Add((at, billing => billing.Pay(
        new PracticeCheckout
        {
            Id = Billing.NewId("cs"), PriceId = _price.Id, Email = email, SuccessUrl = "", CancelUrl = "", Created = billing.Now, ExpiresAt = billing.Now,
            CustomerId = billing.Ledger.Customers.Find(c => c.Email == email)?.Id,
        }, isCardGood: true)));

    private void Turn(DateTimeOffset at, string email, Action<Billing, PracticeSubscription> act)
    {
        if (at < _now)
            _turns.Add((at, billing =>
            {
                var customer = billing.Ledger.Customers.Find(c => c.Email == email);
                if (billing.Ledger.Subscriptions.FindLast(s => s.CustomerId == customer?.Id) is { } subscription && subscription.Status != PracticeStatus.Canceled)
                    act(billing, subscription);
            }));
    }
}
