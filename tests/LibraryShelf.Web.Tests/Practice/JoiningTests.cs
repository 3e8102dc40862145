using System.Net;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Practice;

/// <summary>The client the shelf uses for Stripe, with the stand-in.</summary>
public sealed class JoiningTests
{
    /// <summary>Whoever paid may hand on the address of the way back, not yet opened; who opens it must not be signed in as them.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_way_back_signs_in_only_where_the_joining_was_begun(bool isSameBrowser)
    {
        // Now, because the client's jar goes by the machine's clock.
        await using var shop = new PracticeShop(TimeProvider.System.GetUtcNow());
        await shop.Host.ClaimAsync();
        await shop.Host.WithDbAsync(async db =>
        {
            db.Plans.Add(new Plan { Minor = 600, Currency = "EUR", Months = 1 });
            await db.SaveChangesAsync();
        });
        var (payer, other) = (shop.Host.Visitor(), shop.Host.Visitor());
        var form = await payer.PageAsync("/join");
        using var gone = await payer.PressAsync(form, form.QuerySelector("main button.full")!.Words(), ("Email", "wren@post.example"));
        var pay = await payer.PageAsync(gone.Headers.Location!.PathAndQuery);
        using var paid = await payer.PressAsync(pay, pay.QuerySelector("button.solid")!.Words(), ("card", "good"));
        var back = isSameBrowser ? payer : other;
        using var joined = await back.GetAsync(new Uri(paid.Headers.Location!.PathAndQuery, UriKind.Relative));
        Assert.Contains("You have joined", await joined.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal(isSameBrowser, (await back.GetAsync(new Uri("/mine", UriKind.Relative))).StatusCode == HttpStatusCode.OK);
        Assert.Equal(isSameBrowser ? 0 : 1, await shop.Host.AskDbAsync(db => db.Outbox.CountAsync(m => m.Cause.StartsWith("sign-in:"))));
        // Once, whoever came first.
        Assert.Equal(HttpStatusCode.OK, (await payer.GetAsync(new Uri(paid.Headers.Location!.PathAndQuery, UriKind.Relative))).StatusCode);
        Assert.Equal(isSameBrowser, (await payer.GetAsync(new Uri("/mine", UriKind.Relative))).StatusCode == HttpStatusCode.OK);
        Assert.Equal(isSameBrowser ? 0 : 1, await shop.Host.AskDbAsync(db => db.Outbox.CountAsync(m => m.Cause.StartsWith("sign-in:"))));
    }

    [Fact]
    public async Task A_plan_has_one_price_however_often_it_is_made()
    {
        await using var shop = new PracticeShop();
        var first = await shop.Payments.MakePriceAsync(PracticeShop.Monthly, default);
        shop.LetDaysPass(2); // past the day in which the key of the wish alone would do
        Assert.Equal(first, await shop.Payments.MakePriceAsync(PracticeShop.Monthly, default));
        Assert.NotEqual(first, await shop.Payments.MakePriceAsync(PracticeShop.Yearly, default));
        Assert.True(shop.Payments is { IsOpen: true, IsPractice: true });
    }

    [Fact]
    public async Task Who_pays_has_a_membership_with_one_payment_for_one_month()
    {
        await using var shop = new PracticeShop();
        var told = await shop.ReadAsync(await shop.JoinAsync());
        // Anchored on 31 January: the period ends on February's last day (docs.stripe.com, "Set the billing cycle date").
        var end = new DateTimeOffset(2026, 2, 28, 10, 0, 0, TimeSpan.Zero);
        var payment = Assert.Single(told.Payments);
        Assert.Equal((600, "GBP", 1, shop.Now, end, shop.Now), (payment.Minor, payment.Currency, payment.Months, payment.PeriodStart, payment.PeriodEnd, payment.PaidAt));
        Assert.Equal((0L, null, null), (payment.RefundedMinor, payment.RefundedAt, payment.DisputeLostAt));
        Assert.Equal(("wren@post.example", 7L, shop.Now), (told.Email, told.JoiningId, told.StartedAt));
        Assert.Equal((null, null, false, null), (told.LeavesAt, told.EndedAt, told.IsPaused, told.UnpaidSince));
        Assert.Equal(await shop.Payments.MakePriceAsync(PracticeShop.Monthly, default), told.PriceId);
    }

    [Fact]
    public async Task A_year_is_paid_as_twelve_months()
    {
        await using var shop = new PracticeShop();
        var payment = Assert.Single((await shop.ReadAsync(await shop.JoinAsync(PracticeShop.Yearly))).Payments);
        Assert.Equal((6000, 12, shop.Now.AddYears(1)), (payment.Minor, payment.Months, payment.PeriodEnd));
    }

    [Fact]
    public async Task A_declined_card_makes_nothing_and_leaves_the_page_open()
    {
        await using var shop = new PracticeShop();
        var checkout = await shop.CheckoutAsync();
        using (var declined = await shop.PressPayAsync(checkout, "declined"))
        {
            Assert.Equal(HttpStatusCode.OK, declined.StatusCode);
            Assert.Contains("The card was declined. Nothing was charged", await declined.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }
        var still = await shop.Payments.ReadCheckoutAsync(checkout.Id, default);
        Assert.Equal((false, checkout.Page, null), (still!.IsPaid, still.Page, still.MembershipId));
        Assert.Empty(await shop.Payments.ListMembershipsAsync(default).ToListAsync());
        using var paid = await shop.PressPayAsync(checkout);
        Assert.Equal("http://localhost/join/done/token", paid.Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task A_payment_page_pays_once_and_is_over_after_a_day()
    {
        await using var shop = new PracticeShop();
        var paid = await shop.CheckoutAsync();
        using (await shop.PressPayAsync(paid)) { }
        using var again = await shop.Host.Visitor().GetAsync(new Uri(paid.Page!.PathAndQuery, UriKind.Relative));
        Assert.Equal("http://localhost/join/done/token", again.Headers.Location?.OriginalString);
        var late = await shop.CheckoutAsync(joining: 8);
        shop.LetDaysPass(1);
        using var over = await shop.Host.Visitor().GetAsync(new Uri(late.Page!.PathAndQuery, UriKind.Relative));
        Assert.Equal("http://localhost/join", over.Headers.Location?.OriginalString);
        Assert.Null((await shop.Payments.ReadCheckoutAsync(late.Id, default))!.Page);
        Assert.Single(await shop.Payments.ListMembershipsAsync(default).ToListAsync());
    }

    [Fact]
    public async Task The_same_wish_answers_the_same_and_its_key_serves_no_other()
    {
        await using var shop = new PracticeShop();
        var first = await shop.CheckoutAsync();
        Assert.Equal(first, await shop.CheckoutAsync());
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.CheckoutAsync(PracticeShop.Yearly));
    }

    [Fact]
    public async Task What_is_not_there_is_said_to_be_not_there()
    {
        await using var shop = new PracticeShop();
        Assert.Null(await shop.Payments.ReadMembershipAsync("sub_nobody", default));
        Assert.Null(await shop.Payments.ReadCheckoutAsync("cs_nobody", default));
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shop.Payments.RefundAsync("in_nobody", null, "key", default));
        await shop.Payments.EndAsync("sub_nobody", default);
    }

    [Fact]
    public async Task Without_practice_mode_none_of_it_can_be_reached()
    {
        await using var host = new ShelfHost();
        Assert.DoesNotContain(await RoutingTable.ReadAsync(host.Services), line => line.Contains("practice", StringComparison.OrdinalIgnoreCase));
        Assert.DoesNotContain("Practice mode", (await host.Visitor().PageAsync("/help")).DocumentElement.OuterHtml, StringComparison.Ordinal);
    }
}
