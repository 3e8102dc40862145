using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Practice;

namespace LibraryShelf.Web.Tests.Practice;

public sealed class RenewalTests
{
    [Fact]
    public async Task Renewals_of_an_anchor_on_the_31st_clamp_and_return_one_after_another()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        shop.LetMonthsPass(3);
        shop.LetMonthsPass(2);
        shop.LetDaysPass(2);
        var told = await shop.ReadAsync(membership);
        // vectors/month_end_billing.tsv, "billing anchor (clamp, re-anchor)", start 2026-01-31.
        Assert.Equal(
            ["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30", "2026-05-31", "2026-06-30"],
            told.Payments.Select(p => $"{p.PeriodStart:yyyy-MM-dd}").Order());
        Assert.All(told.Payments, p => Assert.Equal(p.PeriodStart, p.PaidAt));
    }

    [Fact]
    public async Task A_failed_renewal_stands_open_and_is_paid_late_for_its_own_month()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        FailNext(shop);
        shop.LetMonthsPass(1);
        var failed = await shop.ReadAsync(membership);
        Assert.Equal(new DateTimeOffset(2026, 2, 28, 10, 0, 0, TimeSpan.Zero), failed.UnpaidSince);
        Assert.Single(failed.Payments);
        Assert.Null(failed.EndedAt);
        // Three days later it is tried again, and the card works.
        shop.LetDaysPass(3);
        var recovered = await shop.ReadAsync(membership);
        Assert.Null(recovered.UnpaidSince);
        var late = recovered.Payments.MaxBy(p => p.PeriodStart)!;
        Assert.Equal((failed.UnpaidSince, failed.UnpaidSince!.Value.AddDays(3)), (late.PeriodStart, late.PaidAt));
    }

    [Fact]
    public async Task A_card_refused_at_every_try_ends_the_membership_after_fourteen_days()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        shop.StandIn.Do(b => b.Ledger.Customers.ForEach(c => c.IsCardRefused = true));
        shop.LetMonthsPass(1);
        shop.LetDaysPass(13);
        Assert.Null((await shop.ReadAsync(membership)).EndedAt);
        Assert.Equal(3, shop.StandIn.Do(b => b.Ledger.Invoices[^1].Tries));
        shop.LetDaysPass(1);
        var ended = await shop.ReadAsync(membership);
        Assert.Equal(new DateTimeOffset(2026, 3, 14, 10, 0, 0, TimeSpan.Zero), ended.EndedAt);
        Assert.Equal(4, shop.StandIn.Do(b => b.Ledger.Invoices[^1].Tries));
        shop.LetMonthsPass(3);
        Assert.Single((await shop.ReadAsync(membership)).Payments);
    }

    [Fact]
    public async Task Who_leaves_is_charged_no_more_and_may_stay_after_all()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var end = new DateTimeOffset(2026, 2, 28, 10, 0, 0, TimeSpan.Zero);
        await shop.Payments.LeaveAsync(membership, goesOn: false, default);
        Assert.Equal(end, (await shop.ReadAsync(membership)).LeavesAt);
        await shop.Payments.LeaveAsync(membership, goesOn: true, default);
        Assert.Null((await shop.ReadAsync(membership)).LeavesAt);
        await shop.Payments.LeaveAsync(membership, goesOn: false, default);
        shop.LetMonthsPass(2);
        var left = await shop.ReadAsync(membership);
        Assert.Equal(end, left.EndedAt);
        Assert.Single(left.Payments);
        Assert.Equal([membership], await shop.Payments.ListMembershipsAsync(default).ToListAsync());
    }

    [Fact]
    public async Task Ended_at_once_it_is_ended_now_and_ending_it_again_changes_nothing()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        await shop.Payments.EndAsync(membership, default);
        var ended = (await shop.ReadAsync(membership)).EndedAt;
        Assert.Equal(shop.Now, ended);
        shop.LetDaysPass(1);
        await shop.Payments.EndAsync(membership, default);
        Assert.Equal(ended, (await shop.ReadAsync(membership)).EndedAt);
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.Payments.LeaveAsync(membership, goesOn: true, default));
    }

    [Fact]
    public async Task A_credit_is_taken_off_the_next_invoices_and_the_same_wish_credits_once()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var customer = (await shop.ReadAsync(membership)).CustomerId;
        for (var twice = 0; twice < 2; twice++)
            await shop.Payments.CreditAsync(customer, 800, "GBP", "A month that slipped", "slip-2026-02", default);
        shop.LetMonthsPass(2);
        // 600 a month, 800 of credit: 600, 0, 400. One of nothing pays for its month too.
        Assert.Equal([600, 0, 400], (await shop.ReadAsync(membership)).Payments.OrderBy(p => p.PeriodStart).Select(p => p.Minor));
    }

    [Fact]
    public async Task Another_price_is_charged_from_the_next_period_on()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var dearer = await shop.Payments.MakePriceAsync(PracticeShop.Monthly with { PlanId = 3, Minor = 700 }, default);
        await shop.Payments.ChangePriceAsync(membership, dearer, "dearer", default);
        Assert.Equal(600, Assert.Single((await shop.ReadAsync(membership)).Payments).Minor);
        shop.LetMonthsPass(1);
        var told = await shop.ReadAsync(membership);
        Assert.Equal([600, 700], told.Payments.OrderBy(p => p.PeriodStart).Select(p => p.Minor));
        Assert.Equal(dearer, told.PriceId);
    }

    [Fact]
    public async Task More_than_a_page_of_renewals_is_read_whole()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        shop.LetMonthsPass(119);
        shop.LetDaysPass(3);
        // One on joining, one a month: the interface gives at most 100 at once.
        Assert.Equal(120, (await shop.ReadAsync(membership)).Payments.Select(p => p.Id).Distinct().Count());
    }

    [Fact]
    public async Task Begun_again_the_ledger_and_the_clock_stand_where_they_stood()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        shop.LetMonthsPass(1);
        // A copy: one program at a time writes the file.
        var copy = Path.Combine(shop.Host.DataFolder, "copy", "practice.json");
        Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
        File.Copy(Path.Combine(shop.Host.DataFolder, "practice.json"), copy);
        var file = new LedgerFile(copy);
        var clock = new PracticeClock(shop.Machine, file);
        Assert.Equal(shop.Now, clock.GetUtcNow());
        var again = new StandIn(file, clock);
        Assert.Equal(2, again.Do(b => b.Ledger.Invoices.Count(i => i.SubscriptionId == membership)));
    }

    private static void FailNext(PracticeShop shop) => shop.StandIn.Do(b => b.Ledger.Customers.ForEach(c => c.IsNextTryRefused = true));
}
