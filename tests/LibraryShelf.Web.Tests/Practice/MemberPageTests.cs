using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Practice;

/// <summary>The maker's page of one person, against the stand-in.</summary>
public sealed class MemberPageTests
{
    [Fact]
    public async Task A_payment_goes_back_in_part_and_whole_and_the_membership_ends()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        await shop.Host.RunAsync((LookAgain look) => look.RunAsync(membership, null, default));
        var maker = await shop.Host.MakerAsync();
        var list = await maker.PageAsync("/workbench/members");
        Assert.Equal("One member today.", list.QuerySelector("p.said")!.Words());
        var here = list.QuerySelector("table th a")!.GetAttribute("href")!;
        var page = await maker.PageAsync(here);
        Assert.Contains("January 2026", page.Body!.Words(), StringComparison.Ordinal);
        var ask = await maker.PageAsync(page.QuerySelectorAll("a.button").Single(a => a.Words().StartsWith("Pay back", StringComparison.Ordinal)).GetAttribute("href")!);

        var wrong = await maker.PressAndStayAsync(ask, "Pay it back", ("how", "part"), ("Part", "6.01"));
        Assert.Equal("Only £6.00 are left of it.", wrong.QuerySelector("#Part-error")!.Words());
        var part = await maker.PressAndFollowAsync(ask, "Pay it back", ("how", "part"), ("Part", "2,50"));
        Assert.Contains("£2.50 are on their way back. What it paid for stays theirs.", part.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        // The same press again, from the page as it was.
        var doubled = await maker.PressAndFollowAsync(ask, "Pay it back", ("how", "part"), ("Part", "2,50"));
        Assert.Contains("Nothing more went back now.", doubled.QuerySelector(".notice.listen-again")!.Words(), StringComparison.Ordinal);
        var rest = await maker.PageAsync(part.QuerySelectorAll("a.button").Single(a => a.Words().StartsWith("Pay back", StringComparison.Ordinal)).GetAttribute("href")!);
        var whole = await maker.PressAndFollowAsync(rest, "Pay it back", ("how", "whole"));
        Assert.Contains("£3.50 are on their way back. What it paid for is taken back.", whole.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        Assert.Equal(600, Assert.Single((await shop.ReadAsync(membership)).Payments).RefundedMinor);
        Assert.False(await shop.Host.AskDbAsync(db => db.PaidMonths.AnyAsync()));

        var end = await maker.PageAsync(whole.QuerySelectorAll("a.button").Single(a => a.Words() == "End now").GetAttribute("href")!);
        Assert.Null((await shop.ReadAsync(membership)).EndedAt);
        var ended = await maker.PressAndFollowAsync(end, "End it this moment");
        Assert.Contains("The membership has ended", ended.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        Assert.NotNull((await shop.ReadAsync(membership)).EndedAt);
    }

    [Fact]
    public async Task Each_version_says_whether_and_why()
    {
        await using var shop = new PracticeShop();
        var membership = await shop.JoinAsync();
        await shop.Host.RunAsync((LookAgain look) => look.RunAsync(membership, null, default));
        await shop.Host.WithDbAsync(async db =>
        {
            foreach (var (title, audience, month) in new[] { ("Tin", Audience.Free, (int?)null), ("Kettle", Audience.Members, 1), ("Bell", Audience.Members, 12) })
            {
                var library = new Library { Slug = title.ToLowerInvariant(), Title = title, Month = month is { } m ? new(2026, m) : null, CreatedAt = shop.Now };
                library.Decide(audience, shop.Now);
                var release = new Release { Number = "1.0.0", CreatedAt = shop.Now };
                foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                    release.MoveTo(state, shop.Now);
                library.Releases.Add(release);
                db.Libraries.Add(library);
            }
            await db.SaveChangesAsync();
        });
        var maker = await shop.Host.MakerAsync();
        var here = (await maker.PageAsync("/workbench/members")).QuerySelector("table th a")!.GetAttribute("href")!;
        async Task<string[]> SaidAsync(string path) => [.. (await maker.PageAsync(path)).QuerySelectorAll("tr:has(td[data-label='May they'])").Select(row => row.Words())];
        Assert.Equal(["Bell 1.0.0 yes a member now", "Kettle 1.0.0 yes January 2026, which they paid for", "Tin 1.0.0 yes free for everyone"], await SaidAsync(here));
        Assert.Equal(["Kettle 1.0.0 yes January 2026, which they paid for"], await SaidAsync(here + "?box=KETT"));
        await shop.Payments.EndAsync(membership, default);
        await shop.Host.RunAsync((LookAgain look) => look.RunAsync(membership, null, default));
        Assert.Equal(
            ["Bell 1.0.0 no for members: no member now, and has not December 2026", "Kettle 1.0.0 yes January 2026, which they paid for", "Tin 1.0.0 yes free for everyone"], await SaidAsync(here));
        Assert.Equal(MemberState.Left, (await shop.Host.RunAsync((ReadMembers read) => read.RunAsync(new(), 1, default))).People[0].State);
    }
}
