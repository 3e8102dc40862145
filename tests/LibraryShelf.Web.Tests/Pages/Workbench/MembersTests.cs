using System.Net;
using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class MembersTests
{
    private const string Wren = "wren@post.example";

    [Fact]
    public async Task Membership_is_given_with_a_welcome_mail_and_ended_in_two_presses()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var page = await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/members"), "Give it",
            ("Email", Wren), ("Note", "lent me the tins"));
        Assert.Equal("One member today.", page.QuerySelector("p.said")!.Words());
        Assert.Contains("lent me the tins", page.QuerySelector("table")!.TextContent, StringComparison.Ordinal);
        var mail = await host.NewestMailAsync(Wren);
        Assert.Equal("You are a member of Saltmarsh Sound Room", mail.Subject);
        Assert.Contains("http://localhost/sign-in", mail.Text, StringComparison.Ordinal);
        var member = await host.SignedInAsync(Wren);
        Assert.Contains("You are a member", (await member.PageAsync("/mine")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);

        var person = await maker.PageAsync(page.QuerySelector("table th a")!.GetAttribute("href")!);
        Assert.Contains("lent me the tins", person.QuerySelector("table")!.TextContent, StringComparison.Ordinal);
        var confirm = await maker.PageAsync(person.QuerySelectorAll("a.button").Single(a => a.Words() == "End what was given").GetAttribute("href")!);
        Assert.True(await host.AskDbAsync(db => db.MembershipGrants.AnyAsync(g => g.Until == null)));
        var after = await maker.PressAndFollowAsync(confirm, "End it now");
        Assert.StartsWith("A member from", after.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        var ended = await maker.PageAsync("/workbench/members");
        Assert.Equal("No members yet.", ended.QuerySelector("p.said")!.Words());
        Assert.Contains("left on", ended.QuerySelector("table")!.TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_last_day_counts_whole_by_the_shops_own_clock()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync(); // Europe/Lisbon, UTC+1 in summer
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/members"), "Give it",
            ("Email", Wren), ("LastDay", "2099-07-14"));
        var until = await host.AskDbAsync(db => db.MembershipGrants.Select(g => g.Until).SingleAsync());
        Assert.Equal(new DateTimeOffset(2099, 7, 14, 23, 0, 0, TimeSpan.Zero), until);
        var page = await maker.PageAsync("/workbench/members");
        Assert.Equal("by hand, until 14 Jul 2099", page.QuerySelector("td[data-label='State'] .sign + span")!.Words());
    }

    [Theory]
    [InlineData("no address", "", "Email")]
    [InlineData(Wren, "2020-01-01", "LastDay")]
    [InlineData(Wren, "the day after", "LastDay")]
    public async Task What_can_not_be_given_is_said_at_its_field(string email, string lastDay, string field)
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var page = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/members"), "Give it",
            ("Email", email), ("LastDay", lastDay));
        Assert.NotNull(page.QuerySelector($"#{field}-error"));
        Assert.False(await host.AskDbAsync(db => db.MembershipGrants.AnyAsync()));
        Assert.False(await host.AskDbAsync(db => db.Outbox.AnyAsync()));
    }

    [Fact]
    public async Task The_list_is_filtered_and_saved_as_a_file()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.PersonAsync("knot@post.example");
        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/members"), "Give it", ("Email", "=wren@post.example"), ("LastDay", "2099-07-14"), ("Note", "tins, \"two\""));
        var page = await maker.PageAsync("/workbench/members?state=ByHand&find=WREN");
        Assert.Equal(["=wren@post.example"], page.QuerySelectorAll("table th a").Select(a => a.Words()));
        var link = page.QuerySelectorAll("nav a").Single(a => a.Words() == "Save this one as a file (CSV)").GetAttribute("href")!;
        var lines = (await maker.GetStringAsync(new Uri(link, UriKind.Relative))).Split("\r\n");
        Assert.Equal(3, lines.Length);
        Assert.StartsWith("email,member_from,member_until,note,state,", lines[0], StringComparison.Ordinal);
        Assert.StartsWith("'=wren@post.example,", lines[1], StringComparison.Ordinal);
        Assert.Contains(",2099-07-14,\"tins, \"\"two\"\"\",by_hand,2099-07-14,", lines[1], StringComparison.Ordinal);
        Assert.Contains("No address here holds", (await maker.PageAsync("/workbench/members?state=Left&find=wren")).Body!.Words(), StringComparison.Ordinal);
        Assert.Equal(2, (await maker.PageAsync("/workbench/members?state=nonsense&page-number=x")).QuerySelectorAll("table th a").Length);
    }

    [Theory]
    [InlineData("/workbench/members")]
    [InlineData("/workbench/outbox")]
    [InlineData("/workbench/tokens")]
    [InlineData("/workbench/shop")]
    public async Task Members_do_not_get_to_the_makers_pages(string path)
    {
        await using var host = new ShelfHost();
        foreach (var client in new[] { host.Visitor(), await host.SignedInAsync(Wren) })
        {
            using var answer = await client.GetAsync(new Uri(path, UriKind.Relative));
            Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
            Assert.StartsWith("/workbench/sign-in?return=", answer.Headers.Location!.IsAbsoluteUri
                ? answer.Headers.Location.PathAndQuery : answer.Headers.Location.OriginalString, StringComparison.Ordinal);
        }
    }
}
