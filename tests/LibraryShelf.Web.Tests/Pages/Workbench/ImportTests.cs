using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class ImportTests
{
    private const string Path = "/workbench/members/import";
    private const string Try = "See what would come of it";

    [Fact]
    public async Task A_list_is_shown_first_and_brought_by_the_second_press()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var tried = await maker.PressAndStayAsync(await maker.PageAsync(Path), Try,
            ("Pasted", "email;member_from\r\nwren@post.example;2026-03-01\r\nnobody;\r\n"), ("Source", "The newsletter"), ("Consent", "To hear of it."), ("TheyAgreed", "true"));
        Assert.Equal("One person would get something new, and one mail each. Nothing is written yet.", tried.QuerySelector("p.said")!.Words());
        Assert.Equal(["3nobody not taken: no e-mail address", "2wren@post.example new, a membership from 1 Mar 2026, no end"], tried.QuerySelectorAll("tbody tr").Select(r => r.Words()));
        Assert.False(await host.AskDbAsync(db => db.Users.AnyAsync(p => !p.IsMaker)));
        var done = await maker.PressAndFollowAsync(tried, "Bring 1 person here");
        Assert.StartsWith("One person new here, one membership given.", done.QuerySelector(".notice.fine")!.Words(), StringComparison.Ordinal);
        Assert.Equal("The newsletter", done.QuerySelector("tbody th")!.Words());
        Assert.Contains("The newsletter", (await host.NewestMailAsync("wren@post.example")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_a_source_or_their_word_nothing_is_even_shown()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var page = await maker.PressAndStayAsync(await maker.PageAsync(Path), Try, ("Pasted", "name\nWren\n"));
        Assert.Equal(["#Source", "#Consent", "#TheyAgreed", "#Pasted"], page.QuerySelectorAll(".problems a").Select(a => a.GetAttribute("href")));
        Assert.Equal("name\nWren\n", page.QuerySelector("#Pasted")!.TextContent.ReplaceLineEndings("\n"));
    }

    [Fact]
    public async Task A_list_other_than_the_one_shown_is_not_brought()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var tried = await maker.PressAndStayAsync(await maker.PageAsync(Path), Try,
            ("Pasted", "email\nwren@post.example\n"), ("Source", "The newsletter"), ("Consent", "To hear of it."), ("TheyAgreed", "true"));
        foreach (var kept in new[] { "", "AAAA", "not base64" })
        {
            var after = await maker.PressAndFollowAsync(tried, "Bring 1 person here", ("Kept", kept));
            Assert.Contains("Nothing was brought.", after.QuerySelector(".notice.listen-again")!.Words(), StringComparison.Ordinal);
        }
        Assert.False(await host.AskDbAsync(db => db.Users.AnyAsync(p => !p.IsMaker)));
    }
}
