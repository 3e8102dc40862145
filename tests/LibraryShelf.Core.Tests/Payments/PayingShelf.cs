using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>A claimed shop with a plan of nine euros a month beside a provider in memory; each verb in a context of its own.</summary>
internal sealed class PayingShelf : IAsyncDisposable
{
    public const string Address = "https://shelf.example";
    private readonly TempShelf shelf;

    private PayingShelf(TempShelf shelf)
    {
        this.shelf = shelf;
        Provider = new LedgerPayments(shelf.Clock);
    }

    public LedgerPayments Provider { get; }
    public FakeTimeProvider Clock => shelf.Clock;
    public IOptions<ShelfSettings> Settings { get; } = Options.Create(new ShelfSettings());
    public long PlanId { get; private set; }
    public DateTimeOffset Now => Clock.GetUtcNow();

    public static async Task<PayingShelf> MakeAsync()
    {
        var paying = new PayingShelf(await TempShelf.MakeAsync());
        await using var db = paying.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Lisbon", ConsentWords = "Begin at once.", TermsVersion = "1 May 2026" });
        var plan = new Plan { Minor = 900, CreatedAt = paying.Now };
        // Two that the provider does not know yet.
        db.Plans.AddRange(plan, new Plan { Minor = 9000, Months = 12, CreatedAt = paying.Now });
        await db.SaveChangesAsync();
        paying.PlanId = plan.Id;
        return paying;
    }

    public ShelfDb Open() => shelf.Open();

    public async Task<T> AskAsync<T>(Func<ShelfDb, Task<T>> ask)
    {
        await using var db = Open();
        return await ask(db);
    }

    public Task<LookOutcome> LookAsync(string id) => AskAsync(db => Look(db).RunAsync(id, Address, default));

    public Task<string?> HandleAsync(CancellationToken cancellationToken = default) => AskAsync(db => new HandleMessages(db, Provider, Look(db), Clock, NullLogger<HandleMessages>.Instance).RunAsync(Address, cancellationToken));

    public Task<Reconciled> ReconcileAsync() => AskAsync(db => new ReconcileMemberships(
        db, Provider, Look(db), new RaiseAlert(db, Clock), new SettleAlert(db, Clock), Clock, NullLogger<ReconcileMemberships>.Instance).RunAsync(Address, default));

    public Task<int> KeepAsync(params PaymentEvent[] messages) => AskAsync(db => new KeepMessages(db).RunAsync(messages, default));

    public PaymentEvent Message(string id, SubjectKind? kind = null, string? subject = null) =>
        new() { ProviderId = id, Kind = "thing.changed", SubjectKind = kind, SubjectId = subject, ReceivedAt = Now };

    public Task<JoinOutcome> StartAsync(
        string? email = "wren@post.example", long? personId = null, bool agrees = true, string consent = "Begin at once.", long? planId = null) =>
        AskAsync(db => new StartJoining(db, Provider, Clock).RunAsync(new JoinWish(email, personId, planId ?? PlanId, agrees, consent), Address, default));

    public Task<FinishOutcome> FinishAsync(string token, bool isSameBrowser = true) =>
        AskAsync(db => new FinishJoining(db, Provider, Look(db), new AskForSignIn(db, Clock, Settings), Clock).RunAsync(token, Address, isSameBrowser, default));

    /// <summary>Joins, and pays on the payment page. Answers the token of the way back.</summary>
    public async Task<string> PayAsync(string email = "wren@post.example", long? personId = null, string id = "sub_1")
    {
        Assert.IsType<JoinOutcome.GoAndPay>(await StartAsync(email, personId));
        var wish = Provider.Wish!;
        Provider.Begins(Told.Begun(id, Now, wish.Email, wish.JoiningId));
        Provider.Checkouts[$"cs_{wish.JoiningId}"] = new($"cs_{wish.JoiningId}", null, IsPaid: true, id);
        return wish.Done.Segments[^1];
    }

    public Task<LeaveOutcome> LeaveAsync(Leaver leaver, bool stays = false) =>
        AskAsync(db => new LeaveMembership(db, Provider, Look(db), Clock).RunAsync(leaver, stays, Address, default));

    public Task<LeaveOutcome> WithdrawAsync(Leaver leaver) =>
        AskAsync(db => new WithdrawFromMembership(db, Provider, Look(db), Clock, Settings).RunAsync(leaver, Address, default));

    /// <param name="paymentId">Of whom it is, unless <paramref name="personId"/> says otherwise, pays it back.</param>
    /// <param name="minor">Null: all that is left.</param>
    /// <param name="already">As the page showed it.</param>
    /// <param name="personId">Whose page it is.</param>
    public Task<RefundOutcome> RefundAsync(string paymentId, long? minor, long already = 0, long? personId = null) => AskAsync(async db =>
        await new RefundPayment(db, Provider, Look(db)).RunAsync(
            personId ?? await db.PaidMemberships.Select(m => m.PersonId).FirstAsync(), paymentId, minor, already, Address, default));

    public Task<EndPaidOutcome> EndAsync(long membershipId, bool atOnce, long? personId = null) => AskAsync(async db =>
        await new EndPaidMembership(db, Provider, Look(db), Clock).RunAsync(
            personId ?? await db.PaidMemberships.Select(m => m.PersonId).FirstAsync(), membershipId, atOnce, Address, default));

    public Task<PaidMembership> MembershipAsync(string id = "sub_1") => AskAsync(db => db.PaidMemberships.SingleAsync(m => m.ProviderId == id));

    /// <summary>"2026-11 2026-12".</summary>
    public async Task<string> MonthsAsync() => string.Join(' ', await AskAsync(db => db.PaidMonths.OrderBy(m => m.Month).Select(m => m.Month).ToListAsync())
        is var months ? months.Select(NodaTime.Text.YearMonthPattern.Iso.Format) : []);

    /// <summary>What each mail is about ("joined", "unpaid", "left"), in order.</summary>
    public async Task<string> MailsAsync() => string.Join(' ', (await AskAsync(db => db.Outbox.OrderBy(m => m.Id).Select(m => m.Cause).ToListAsync())).Select(c => c.Split(':')[0]));

    public Task<string> TextAsync(string cause) => AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith(cause)).OrderBy(m => m.Id).Select(m => m.Text).LastAsync());

    public ValueTask DisposeAsync() => shelf.DisposeAsync();

    private LookAgain Look(ShelfDb db) => new(db, Provider, Clock, Settings);
}
