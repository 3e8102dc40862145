using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Practice;

/// <summary>The pages of a shelf that was restored from a backup: who presses what would change something at the payment provider is told why it does not.</summary>
public sealed class HeldShelfTests
{
    /// <summary>Up to the first sign that stands otherwise in HTML.</summary>
    private const string Why = "This shelf was restored from a backup: until its maker says on the workbench";

    [Fact]
    public async Task Joining_leaving_ending_and_paying_back_wait_and_the_page_says_why()
    {
        await using var shop = new PracticeShop(TimeProvider.System.GetUtcNow());
        var membership = await shop.JoinAsync();
        await shop.Host.RunAsync((LookAgain look) => look.RunAsync(membership, null, default));
        await shop.Host.WithDbAsync(async db =>
        {
            db.Plans.Add(new Plan { Minor = 600, Currency = "EUR", Months = 1 });
            await db.SaveChangesAsync();
            var since = shop.Now;
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, since));
        });

        var visitor = shop.Host.Visitor();
        var form = await visitor.PageAsync("/join");
        using (var joining = await visitor.PressAsync(form, form.QuerySelector("main button.full")!.Words(), ("Email", "dunlin@post.example")))
            Assert.Contains(Why, await joining.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        var member = await shop.Host.SignedInAsync("wren@post.example");
        using (var card = await member.GetAsync(new Uri("/mine/card", UriKind.Relative)))
            Assert.Contains(Why, await card.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        var leave = await member.PageAsync("/leave");
        using (var left = await member.PressAsync(leave, leave.QuerySelector("main form button")!.Words()))
            Assert.Contains(Why, await left.Content.ReadAsStringAsync(), StringComparison.Ordinal);

        var maker = await shop.Host.MakerAsync();
        var page = await maker.PageAsync((await maker.PageAsync("/workbench/members")).QuerySelector("table th a")!.GetAttribute("href")!);
        var end = await maker.PageAsync(page.QuerySelectorAll("a.button").Single(a => a.Words() == "End now").GetAttribute("href")!);
        Assert.Contains(Why, (await maker.PressAndFollowAsync(end, "End it this moment")).Body!.Words(), StringComparison.Ordinal);
        var back = await maker.PageAsync(page.QuerySelectorAll("a.button").Single(a => a.Words().StartsWith("Pay back", StringComparison.Ordinal)).GetAttribute("href")!);
        Assert.Contains(Why, (await maker.PressAndFollowAsync(back, "Pay it back", ("how", "whole"))).Body!.Words(), StringComparison.Ordinal);

        var told = await shop.ReadAsync(membership);
        Assert.Equal((null, null, 0L), (told.EndedAt, told.LeavesAt, Assert.Single(told.Payments).RefundedMinor));
    }
}
