using LibraryShelf.Core.Payments;

namespace LibraryShelf.Web.Tests.Practice;

public sealed class MoneyBackTests
{
    [Fact]
    public async Task Paid_back_whole_it_is_taken_back_and_the_same_wish_pays_back_once()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var payment = (await shop.ReadAsync(membership)).Payments[0].Id;
        shop.LetDaysPass(1);
        await shop.Payments.RefundAsync(payment, null, "back", default);
        await shop.Payments.RefundAsync(payment, null, "back", default);
        var then = shop.Now;
        // The key of the wish is forgotten by the provider after a day; the wish is not.
        shop.LetDaysPass(2);
        await shop.Payments.RefundAsync(payment, null, "back", default);
        var told = Assert.Single((await shop.ReadAsync(membership)).Payments);
        Assert.Equal((600, then, then), (told.RefundedMinor, told.RefundedAt, told.TakenBackAt));
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.Payments.RefundAsync(payment, null, "more", default));
    }

    [Fact]
    public async Task Paid_back_in_part_it_stays_and_no_more_than_was_paid_goes_back()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var payment = (await shop.ReadAsync(membership)).Payments[0].Id;
        await shop.Payments.RefundAsync(payment, 200, "a part", default);
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.Payments.RefundAsync(payment, 401, "too much", default));
        var part = Assert.Single((await shop.ReadAsync(membership)).Payments);
        Assert.Equal((200, null), (part.RefundedMinor, part.TakenBackAt));
        await shop.Payments.RefundAsync(payment, 400, "the rest", default);
        Assert.NotNull(Assert.Single((await shop.ReadAsync(membership)).Payments).TakenBackAt);
    }

    [Fact]
    public async Task Another_address_is_the_customers_from_then_on()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var customer = (await shop.ReadAsync(membership)).CustomerId;
        await shop.Payments.ChangeAddressAsync(customer, "wren@moved.example", default);
        Assert.Equal("wren@moved.example", (await shop.ReadAsync(membership)).Email);
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.Payments.ChangeAddressAsync("cus_nobody", "wren@moved.example", default));
    }

    [Fact]
    public async Task A_credit_is_taken_off_the_next_invoice_and_the_same_wish_credits_once()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var customer = (await shop.ReadAsync(membership)).CustomerId;
        await shop.Payments.CreditAsync(customer, 250, "GBP", "2026-01 slipped", "slipped-1-1", default);
        shop.LetDaysPass(2);
        await shop.Payments.CreditAsync(customer, 250, "GBP", "2026-01 slipped", "slipped-1-1", default);
        shop.LetMonthsPass(1);
        var next = (await shop.ReadAsync(membership)).Payments.MaxBy(p => p.PeriodStart)!;
        Assert.Equal((350, 600), (next.Minor, next.PriceMinor));
    }

    [Fact]
    public async Task A_dispute_takes_the_payment_back_only_once_it_is_lost()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var dispute = shop.StandIn.Do(b => b.Dispute(b.Ledger.Charges.Single()));
        Assert.Null(Assert.Single((await shop.ReadAsync(membership)).Payments).DisputeLostAt);
        shop.StandIn.Do(b => b.Lose(b.Disputed(dispute.Id)));
        Assert.NotNull(Assert.Single((await shop.ReadAsync(membership)).Payments).TakenBackAt);
    }

    [Fact]
    public async Task Whatever_a_message_names_leads_to_its_membership()
    {
        await using var shop = new PracticeShop();
        var checkout = await shop.CheckoutAsync();
        using (await shop.PressPayAsync(checkout)) { }
        var membership = (await shop.Payments.ReadCheckoutAsync(checkout.Id, default))!.MembershipId;
        var (invoice, charge) = shop.StandIn.Do(b => (b.Ledger.Invoices.Single().Id, b.Ledger.Charges.Single().Id));
        var dispute = shop.StandIn.Do(b => b.Dispute(b.Ledger.Charges.Single())).Id;
        foreach (var (kind, id) in new[] { (SubjectKind.Invoice, invoice), (SubjectKind.Charge, charge), (SubjectKind.Dispute, dispute), (SubjectKind.Checkout, checkout.Id) })
            Assert.Equal(membership, await shop.Payments.FindMembershipAsync(new MessageSubject(kind, id), default));
        Assert.Null(await shop.Payments.FindMembershipAsync(new MessageSubject(SubjectKind.Charge, "ch_nobody"), default));
    }
}
