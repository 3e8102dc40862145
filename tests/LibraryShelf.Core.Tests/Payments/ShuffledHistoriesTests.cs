using System.Globalization;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using Xunit.Abstractions;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>
/// Whatever becomes of the messages of a history (out of order, doubled, late, lost), once reconciled it ends in the same rights as the history told in
/// order. Through the database. 10,000 histories with SHELF_SLOW=1, else 200; SHELF_HISTORIES=n draws n, SHELF_SEED=n others.
/// </summary>
public sealed class ShuffledHistoriesTests(ITestOutputHelper output)
{
    private static readonly int Histories = Number("SHELF_HISTORIES") ?? (Environment.GetEnvironmentVariable("SHELF_SLOW") == "1" ? 10_000 : 200);
    private static readonly IOptions<ShelfSettings> Settings = Options.Create(new ShelfSettings());

    [Fact]
    public async Task Any_shuffle_doubling_and_loss_ends_in_the_same_rights_as_the_history_in_order()
    {
        var seed = Number("SHELF_SEED") ?? Random.Shared.Next();
        output.WriteLine($"SHELF_SEED={seed}");
        var random = new Random(seed);
        await using var inOrder = await PayingShelf.MakeAsync();
        await using var shuffled = await PayingShelf.MakeAsync();
        var (withMonths, takenBack, mended) = (0, 0, 0);
        for (var n = 0; n < Histories; n++)
        {
            var history = History.Draw(n, random);
            List<Delivery> mishandled = [.. history.Mishandled(random)];
            var told = Task.Run(() => PlayAsync(inOrder, history, history.Messages, reconciles: false));
            mended += await PlayAsync(shuffled, history, mishandled, reconciles: true);
            await told;
            var rights = await RightsAsync(inOrder, history);
            Assert.True(rights == await RightsAsync(shuffled, history), $"SHELF_SEED={seed}, history {n}:\n{rights}\n{await RightsAsync(shuffled, history)}");
            if (rights.Contains("month", StringComparison.Ordinal)) withMonths++;
            if (rights.Contains("back", StringComparison.Ordinal)) takenBack++;
        }
        // The histories are about something.
        output.WriteLine($"{withMonths} with months, {takenBack} with money back, {mended} memberships mended by the reconciliation");
        Assert.True(withMonths > 0 && mended > 0);
    }

    /// <returns>How many memberships the reconciliation had to mend.</returns>
    private static async Task<int> PlayAsync(PayingShelf shelf, History history, IEnumerable<Delivery> deliveries, bool reconciles)
    {
        var clock = new FakeTimeProvider(history.Begins.AddDays(-1));
        var provider = new LedgerPayments(clock);
        history.Write(provider);
        foreach (var together in deliveries.GroupBy(d => d.At).OrderBy(g => g.Key))
        {
            clock.SetUtcNow(together.Key);
            foreach (var delivery in together)
                await shelf.KeepAsync(new PaymentEvent { ProviderId = delivery.Id, Kind = "x", SubjectKind = delivery.Subject.Kind, SubjectId = delivery.Subject.Id, ReceivedAt = together.Key });
            await shelf.AskAsync(db => new HandleMessages(db, provider, new LookAgain(db, provider, clock, Settings), clock, NullLogger<HandleMessages>.Instance).RunAsync(null, default));
        }
        clock.SetUtcNow(history.Ends);
        return !reconciles ? 0 : (await shelf.AskAsync(db => new ReconcileMemberships(
            db, provider, new LookAgain(db, provider, clock, Settings), new RaiseAlert(db, clock), new SettleAlert(db, clock), clock, NullLogger<ReconcileMemberships>.Instance).RunAsync(null, default))).Mended;
    }

    private static Task<string> RightsAsync(PayingShelf shelf, History history) => shelf.AskAsync(async db =>
    {
        var email = history.Email;
        var person = await db.Users.SingleOrDefaultAsync(p => p.Email == email);
        if (person is null)
            return "nobody";
        var memberships = await db.PaidMemberships.Where(m => m.PersonId == person.Id).OrderBy(m => m.ProviderId).ToListAsync();
        var payments = await db.Payments.Where(p => p.PersonId == person.Id).OrderBy(p => p.Id).ToListAsync();
        var months = await db.PaidMonths.Where(m => m.PersonId == person.Id).OrderBy(m => m.Month).ToListAsync();
        return string.Join('\n', [
            .. memberships.Select(m => string.Create(CultureInfo.InvariantCulture, $"{m.ProviderId} active till {m.ActiveUntil:u} paid {m.PaidThrough:u} leaves {m.LeavesAt:u} ended {m.EndedAt:u} {m.IsPaused}")),
            .. payments.Select(p => string.Create(CultureInfo.InvariantCulture, $"{p.Id} {p.Minor}-{p.RefundedMinor} {p.PeriodStart:u} {p.PaidAt:u} {(p.TakenBackAt is { } b ? $"back {b:u}" : "")} {p.IsDisputeLost}")),
            .. months.Select(m => string.Create(CultureInfo.InvariantCulture, $"month {m.Month.Year}-{m.Month.Month} {m.PaymentId} {m.OpensAt:u}"))]);
    });

    private static int? Number(string variable) =>
        int.TryParse(Environment.GetEnvironmentVariable(variable), NumberStyles.None, CultureInfo.InvariantCulture, out var number) ? number : null;
}

internal sealed record Delivery(string Id, MessageSubject Subject, DateTimeOffset At);

/// <summary>What happens to one person's one or two memberships at the provider, with the message of each happening.</summary>
internal sealed class History
{
    private readonly List<(string Membership, DateTimeOffset At, Func<ProviderMembership, ProviderMembership> Change)> happenings = [];
    private readonly List<Delivery> messages = [];
    private readonly List<ProviderMembership> begun = [];
    private readonly Random random;
    private readonly int number;

    private History(int number, Random random) => (this.number, this.random) = (number, random);

    public string Email => $"person{number}@post.example";

    public DateTimeOffset Begins { get; private set; } = DateTimeOffset.MaxValue;

    public DateTimeOffset Ends { get; private set; } = DateTimeOffset.MinValue;

    public IReadOnlyList<Delivery> Messages => messages;

    public static History Draw(int number, Random random)
    {
        var history = new History(number, random);
        var start = new DateTimeOffset(2025, 1, 1, 0, 0, 0, TimeSpan.Zero).AddSeconds(random.Next(365 * 86400));
        for (var membership = random.Next(1, 3); membership > 0; membership--)
        {
            history.Live($"sub_{number}_{membership}", start);
            start = start.AddSeconds(random.Next(120 * 86400));
        }
        history.Ends = history.Ends.AddDays(40);
        return history;
    }

    public void Write(LedgerPayments provider)
    {
        begun.ForEach(provider.Begins);
        happenings.ForEach(h => provider.Happens(h.Membership, h.At, h.Change));
    }

    /// <summary>Lost, doubled and late, each of them now and then; late ones come when they come, so in any order.</summary>
    public IEnumerable<Delivery> Mishandled(Random random)
    {
        var (losses, doubles, late) = (random.NextDouble(), random.NextDouble(), random.NextDouble());
        foreach (var message in messages)
            for (var copies = random.NextDouble() < losses ? 0 : random.NextDouble() < doubles ? 2 : 1; copies > 0; copies--)
                yield return message with { At = random.NextDouble() < late ? message.At.AddSeconds(random.NextInt64((long)(Ends - message.At).TotalSeconds)) : message.At };
    }

    private void Live(string id, DateTimeOffset start)
    {
        var months = random.Next(6) == 0 ? 12 : 1;
        begun.Add(Told.Begun(id, start, Email, months: months));
        Tell(new(SubjectKind.Checkout, $"cs_{id}"), start);
        MoneyBack(id, $"in_{id}_0", start);
        var periods = random.Next(1, 7);
        for (var n = 1; n < periods; n++)
            Renew(id, $"in_{id}_{n}", start.AddMonths(n * months), months);
        End(id, start.AddMonths(periods * months));
    }

    private void Renew(string id, string invoice, DateTimeOffset period, int months)
    {
        var paid = period;
        if (random.Next(4) == 0)
        {
            Happens(id, new(SubjectKind.Invoice, invoice), period, m => m with { UnpaidSince = period });
            if (random.Next(3) == 0)
                return; // given up
            paid = period.AddSeconds(random.Next(1, 20 * 86400));
        }
        Happens(id, new(SubjectKind.Invoice, invoice), paid, m => m.Paid(Told.Payment(invoice, period, months, paid)));
        MoneyBack(id, invoice, paid);
        if (random.Next(6) == 0)
            Happens(id, new(SubjectKind.Membership, id), paid.AddDays(1), m => m with { IsPaused = !m.IsPaused });
    }

    private void MoneyBack(string id, string invoice, DateTimeOffset paid)
    {
        var at = paid.AddSeconds(random.Next(1, 50 * 86400));
        if (random.Next(4) == 0)
            Happens(id, new(SubjectKind.Charge, $"ch_{invoice}"), at, m => m.With(invoice, p => p with { RefundedMinor = 400, RefundedAt = at }));
        var later = at.AddSeconds(random.Next(1, 10 * 86400));
        if (random.Next(5) == 0)
            Happens(id, new(SubjectKind.Charge, $"ch_{invoice}"), later, m => m.With(invoice, p => p with { RefundedMinor = 900, RefundedAt = later }));
        else if (random.Next(8) == 0)
            Happens(id, new(SubjectKind.Dispute, $"dp_{invoice}"), later, m => m.With(invoice, p => p with { DisputeLostAt = later }));
    }

    private void End(string id, DateTimeOffset paidThrough)
    {
        if (random.Next(2) == 0)
            return;
        var leaves = paidThrough.AddSeconds(-random.Next(1, 25 * 86400));
        Happens(id, new(SubjectKind.Membership, id), leaves, m => m with { LeavesAt = paidThrough });
        if (random.Next(3) == 0)
            Happens(id, new(SubjectKind.Membership, id), leaves.AddSeconds(1), m => m with { LeavesAt = null });
        else
            Happens(id, new(SubjectKind.Membership, id), paidThrough, m => m with { EndedAt = paidThrough });
    }

    private void Happens(string id, MessageSubject subject, DateTimeOffset at, Func<ProviderMembership, ProviderMembership> change)
    {
        happenings.Add((id, at, change));
        Tell(subject, at);
    }

    private void Tell(MessageSubject subject, DateTimeOffset at)
    {
        messages.Add(new($"evt_{number}_{messages.Count}", subject, at));
        Begins = at < Begins ? at : Begins;
        Ends = at > Ends ? at : Ends;
    }
}
