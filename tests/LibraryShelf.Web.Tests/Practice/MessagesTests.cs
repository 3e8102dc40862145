using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Practice;

public sealed class MessagesTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(2);

    [Fact]
    public async Task What_happens_at_the_stand_in_is_told_and_followed_up_by_the_shelf_alone()
    {
        await using var shop = new PracticeShop(runJobs: true);
        var membership = await shop.JoinAsync();
        await UntilAsync(shop, db => db.Payments.AnyAsync(p => p.Minor == 600));
        var person = await shop.Host.AskDbAsync(db => db.PaidMemberships.Where(m => m.ProviderId == membership).Select(m => m.PersonId).SingleAsync());
        Assert.Equal("wren@post.example", await shop.Host.AskDbAsync(db => db.Users.Where(p => p.Id == person).Select(p => p.Email).SingleAsync()));

        shop.LetMonthsPass(1);
        await UntilAsync(shop, db => db.Payments.CountAsync().ContinueWith(c => c.Result == 2, TaskScheduler.Default));
        var payment = (await shop.ReadAsync(membership)).Payments.MaxBy(p => p.PeriodStart)!.Id;
        await shop.Payments.RefundAsync(payment, null, "back", default);
        await UntilAsync(shop, db => db.Payments.AnyAsync(p => p.Id == payment && p.TakenBackAt != null));
        await shop.Payments.EndAsync(membership, default);
        await UntilAsync(shop, db => db.PaidMemberships.AnyAsync(m => m.EndedAt != null));
        // Each was taken, so none waits to be sent again.
        await UntilAsync(shop, _ => Task.FromResult(shop.StandIn.Do(b => b.Ledger.Messages.Count == 0)));
        var kinds = await shop.Host.AskDbAsync(db => db.PaymentEvents.Select(e => e.Kind).ToListAsync());
        Assert.Superset(
            new HashSet<string> { "checkout.session.completed", "invoice.paid", "charge.refunded", "customer.subscription.created", "customer.subscription.deleted" },
            kinds.ToHashSet());
    }

    private static async Task UntilAsync(PracticeShop shop, Func<LibraryShelf.Core.Data.ShelfDb, Task<bool>> holds)
    {
        using var patience = new CancellationTokenSource(Patience);
        while (!await shop.Host.AskDbAsync(holds))
            await Task.Delay(100, patience.Token);
    }
}
