using System.Net;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Practice;

public sealed class PracticePagesTests
{
    private const string Band = "Practice mode: no money moves. Join, leave and join again as often as you like; nothing here is charged.";

    [Fact]
    public async Task Every_page_says_that_no_money_moves()
    {
        await using var shop = new PracticeShop();
        var checkout = await shop.CheckoutAsync();
        var portal = await PortalAsync(shop, await shop.JoinAsync(joining: 8));
        foreach (var address in new[] { "/", "/help", "/sign-in", "/workbench/sign-in", checkout.Page!.PathAndQuery, portal })
            Assert.Contains(Band, (await shop.Host.Visitor().PageAsync(address)).QuerySelector("aside.practice")?.Words(), StringComparison.Ordinal);
        var maker = await shop.Host.MakerAsync();
        foreach (var address in new[] { "/workbench", "/workbench/practice" })
            Assert.Contains(Band, (await maker.PageAsync(address)).QuerySelector("aside.practice")?.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_bench_is_the_makers_alone_and_the_interface_its_keys()
    {
        await using var shop = new PracticeShop();
        await shop.Host.ClaimAsync();
        var ledger = shop.StandIn.Do(b => b.Ledger.AheadSeconds);
        foreach (var client in new[] { shop.Host.Visitor(), await shop.Host.SignedInAsync("wren@post.example") })
        {
            using var look = await client.GetAsync(new Uri("/workbench/practice", UriKind.Relative));
            Assert.StartsWith("/workbench/sign-in?", look.Headers.Location?.OriginalString, StringComparison.Ordinal);
        }
        foreach (var line in (await RoutingTable.ReadAsync(shop.Host.Services)).Where(l => l.Contains("/practice/v1/", StringComparison.Ordinal)))
        {
            var (method, path) = (line.Split(' ')[0], line.Split(' ')[1].Replace("{id}", "sub_1", StringComparison.Ordinal));
            using var request = new HttpRequestMessage(new HttpMethod(method), path);
            request.Headers.Authorization = new("Bearer", "sk_practice_guessed");
            using var answer = await (await shop.Host.MakerAsync()).SendAsync(request);
            Assert.True(answer.StatusCode == HttpStatusCode.Unauthorized, $"{line}: {answer.StatusCode}");
        }
        // Nobody moves the clock without the maker's own page.
        using var unproved = await (await shop.Host.MakerAsync()).PostAsync(
            new Uri("/workbench/practice?handler=Pass", UriKind.Relative), new FormUrlEncodedContent([new("what", "month")]));
        Assert.Equal(HttpStatusCode.BadRequest, unproved.StatusCode);
        Assert.Equal(ledger, shop.StandIn.Do(b => b.Ledger.AheadSeconds));
    }

    [Fact]
    public async Task Whoever_lets_months_pass_stays_signed_in()
    {
        await using var shop = new PracticeShop();
        var maker = await shop.Host.MakerAsync();
        foreach (var months in new[] { 0, 2 })
        {
            shop.LetMonthsPass(months);
            await shop.Host.RunAsync((SweepDevices sweep) => sweep.RunAsync(default));
            // Longer than a cookie goes unchecked: the first time it gets its row, the next time it is held against it.
            shop.Machine.Advance(TimeSpan.FromSeconds(61));
            using var answer = await maker.GetAsync(new Uri("/workbench/practice", UriKind.Relative));
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        }
        Assert.Equal(1, await shop.Host.AskDbAsync(db => db.Devices.CountAsync()));
    }

    [Fact]
    public async Task A_guessed_payment_page_or_portal_is_not_there()
    {
        await using var shop = new PracticeShop();
        foreach (var address in new[] { "/practice/checkout/cs_practice_guessed", "/practice/portal/bps_practice_guessed" })
        {
            using var answer = await shop.Host.Visitor().GetAsync(new Uri(address, UriKind.Relative));
            Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        }
    }

    [Fact]
    public async Task In_the_portal_the_card_is_exchanged_an_invoice_paid_and_the_membership_left()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var visitor = shop.Host.Visitor();
        var page = await visitor.PageAsync(await PortalAsync(shop, membership));
        await visitor.PressAndFollowAsync(page, "Exchange it for a card that is refused");
        shop.LetMonthsPass(1);
        page = await visitor.PageAsync(await PortalAsync(shop, membership));
        Assert.Contains("The last renewal was not paid.", page.Body!.TextContent, StringComparison.Ordinal);
        page = await visitor.PressAndFollowAsync(page, "Pay it now");
        Assert.Contains("The card was refused. The invoice stays open.", page.Body!.TextContent, StringComparison.Ordinal);
        page = await visitor.PressAndFollowAsync(page, "Exchange it for a card that works");
        page = await visitor.PressAndFollowAsync(page, "Pay it now");
        Assert.Equal(2, (await shop.ReadAsync(membership)).Payments.Count);
        page = await visitor.PressAndFollowAsync(page, "Leave at the end of what is paid");
        Assert.NotNull((await shop.ReadAsync(membership)).LeavesAt);
        page = await visitor.PressAndFollowAsync(page, "Stay after all");
        Assert.Null((await shop.ReadAsync(membership)).LeavesAt);
        shop.StandIn.LetPass(now => now.AddHours(1));
        using var over = await visitor.GetAsync(new Uri(new Uri(page.Url).PathAndQuery, UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, over.StatusCode);
    }

    [Fact]
    public async Task At_the_bench_time_passes_a_renewal_fails_is_paid_and_paid_back_and_the_maker_stays_signed_in()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        var maker = await shop.Host.MakerAsync();
        var page = await maker.PageAsync("/workbench/practice");
        page = await maker.PressAndFollowAsync(page, "Let the next renewal fail of wren@post.example");
        page = await maker.PressAndFollowAsync(page, "Let a month pass");
        Assert.NotNull((await shop.ReadAsync(membership)).UnpaidSince);
        page = await maker.PressAndFollowAsync(page, "Pay it");
        Assert.Null((await shop.ReadAsync(membership)).UnpaidSince);
        page = await maker.PressAndFollowAsync(page, "Pay half back");
        Assert.Equal(300, (await shop.ReadAsync(membership)).Payments.MaxBy(p => p.PeriodStart)!.RefundedMinor);
        page = await maker.PressAndFollowAsync(page, "Pay it back");
        page = await maker.PressAndFollowAsync(page, "Open a dispute");
        page = await maker.PressAndFollowAsync(page, "Lose the dispute");
        Assert.All((await shop.ReadAsync(membership)).Payments, p => Assert.True(p.TakenBackAt is not null || p.RefundedMinor == 0));
        for (var month = 0; month < 3; month++)
            page = await maker.PressAndFollowAsync(page, "Let a month pass");
        await maker.PressAndFollowAsync(page, "Let a day pass");
    }

    private static async Task<string> PortalAsync(PracticeShop shop, string membership) =>
        (await shop.Payments.OpenPortalAsync((await shop.ReadAsync(membership)).CustomerId, new Uri("http://localhost/mine"), default)).PathAndQuery;
}
