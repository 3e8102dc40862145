using System.Net;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class PayBackTests
{
    [Fact]
    public async Task Nothing_is_chosen_beforehand_and_what_contradicts_itself_pays_nothing_back()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync($"{await PaidAsync(host)}?pay-back=in_1");
        Assert.Equal(2, page.QuerySelectorAll("input[name=how][required]").Length);
        Assert.Empty(page.QuerySelectorAll("input[name=how][checked]"));
        foreach (var (how, part, words) in new[]
        {
            ("whole", "2", "a part was typed too"),
            ("", "2", "Choose how much"),
            ("part", "", "Write the sum in EUR"),
        })
        {
            using var refused = await maker.PressAsync(page, "Pay it back", ("how", how), ("Part", part));
            Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
            Assert.Contains(words, await refused.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }
        // What is asked for clearly gets as far as the provider, which this shelf has not.
        using var clear = await maker.PressAsync(page, "Pay it back", ("how", "whole"), ("Part", ""));
        Assert.Equal(HttpStatusCode.Redirect, clear.StatusCode);
    }

    [Fact]
    public async Task After_a_whole_one_the_page_says_that_the_membership_goes_on_and_how_to_end_it()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var here = await PaidAsync(host);
        var notice = (await maker.PageAsync($"{here}?paid-back=in_1")).QuerySelector("#ask")!;
        Assert.Contains("it will be renewed, and paid for again", notice.Words(), StringComparison.Ordinal);
        Assert.Contains("end=now", notice.QuerySelector("a")!.GetAttribute("href"), StringComparison.Ordinal);
        var leaves = TimeProvider.System.GetUtcNow().AddDays(9);
        await host.WithDbAsync(db => db.PaidMemberships.ExecuteUpdateAsync(s => s.SetProperty(m => m.LeavesAt, leaves)));
        Assert.Null((await maker.PageAsync($"{here}?paid-back=in_1")).QuerySelector("#ask"));
    }

    /// <returns>The page of somebody who has paid six euros.</returns>
    private static async Task<string> PaidAsync(ShelfHost host)
    {
        var person = await host.PersonAsync("wren@post.example");
        var now = TimeProvider.System.GetUtcNow();
        await host.WithDbAsync(async db =>
        {
            var membership = new PaidMembership { PersonId = person.Id, ProviderId = "sub_1", CustomerId = "cus_1", StartedAt = now, PaidThrough = now.AddDays(30), ActiveUntil = now.AddDays(37) };
            db.PaidMemberships.Add(membership);
            await db.SaveChangesAsync();
            db.Payments.Add(new()
            {
                Id = "in_1", PaidMembershipId = membership.Id, PersonId = person.Id, Minor = 600, Currency = "EUR", Months = 1,
                PeriodStart = now, PeriodEnd = now.AddMonths(1), PaidAt = now,
            });
            await db.SaveChangesAsync();
        });
        return $"/workbench/members/{person.Id}";
    }
}
