using System.Net;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class MergeTests
{
    private const string Wren = "wren@post.example", Robin = "robin@post.example";

    [Fact]
    public async Task The_first_press_shows_what_comes_together_and_the_second_merges()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        foreach (var email in new[] { Wren, Robin })
            await host.RunAsync<GrantMembership, GrantOutcome>(grant => grant.RunAsync(email, "", null, null, default));
        var look = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/members/merge"), "See what comes together", ("Stays", Wren), ("Joins", Robin));
        Assert.Equal($"{Robin} joins {Wren}.", look.QuerySelector("p.said")!.Words());
        var given = look.QuerySelectorAll("tbody tr").Single(r => r.QuerySelector("th")!.Words() == "Memberships given");
        Assert.Equal(["1 membership", "1 membership"], given.QuerySelectorAll("td").Select(d => d.Words()));
        Assert.False(await host.AskDbAsync(db => db.Users.AnyAsync(p => p.MergedIntoId != null)));

        var merged = await maker.PressAndStayAsync(look, "Merge them for good");
        Assert.Contains(Wren, merged.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        var wren = await host.AskDbAsync(db => db.Users.SingleAsync(p => p.Email == Wren));
        Assert.Equal(wren.Id, await host.AskDbAsync(db => db.Users.Where(p => p.Email == Robin).Select(p => p.MergedIntoId).SingleAsync()));
        Assert.Equal(2, await host.AskDbAsync(db => db.MembershipGrants.CountAsync(g => g.PersonId == wren.Id)));
    }

    [Fact]
    public async Task The_other_way_round_is_one_press_and_an_unknown_address_stays_typed()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.PersonAsync(Wren);
        await host.PersonAsync(Robin);
        var look = await maker.PageAsync($"/workbench/members/merge?stays={Wren}&joins={Robin}");
        var turned = await maker.PressAndStayAsync(look, "The other way round");
        Assert.Equal($"{Wren} joins {Robin}.", turned.QuerySelector("p.said")!.Words());

        using var refused = await maker.PressAsync(await maker.PageAsync("/workbench/members/merge"), "See what comes together", ("Stays", Wren), ("Joins", "heron@post.example"));
        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Contains("heron@post.example", await refused.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }
}
