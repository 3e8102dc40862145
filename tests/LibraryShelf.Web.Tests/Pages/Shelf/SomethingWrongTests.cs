using System.Net;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class SomethingWrongTests
{
    private const string Page = "/boxes/flowerpot-bells/something-wrong";

    [Fact]
    public async Task A_visitor_tells_of_a_free_box_and_hears_that_nobody_can_answer()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var visitor = host.Visitor();
        Assert.Equal(Page, (await visitor.PageAsync("/boxes/flowerpot-bells")).QuerySelectorAll("a")
            .Single(a => a.Words() == "Something sounds wrong? Tell the maker").GetAttribute("href"));
        var page = await visitor.PageAsync(Page);
        Assert.Contains("Turn the volume low", page.QuerySelector(".caution")!.Words(), StringComparison.Ordinal);
        Assert.Contains("nobody can answer you", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal("not sure", page.QuerySelector("#key option")!.Words());
        page = await visitor.PressAndFollowAsync(page, "Tell the maker", ("Key", "60"), ("Words", "It clicks."));
        Assert.Contains("nobody can write to you", page.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        var told = await host.AskDbAsync(db => db.FaultReports.AsNoTracking().SingleAsync());
        Assert.Equal((null, 60, "It clicks."), (told.PersonId, told.Key, told.Words));
    }

    [Fact]
    public async Task What_was_typed_is_kept_beside_what_is_wrong_with_it()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var visitor = host.Visitor();
        var page = await visitor.PressAndStayAsync(await visitor.PageAsync(Page), "Tell the maker", ("Recording", "<none>.wav"), ("Words", "It \"hums\" & <i>."));
        Assert.Contains("Version 1.0.0 has no recording of that name.", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.Equal("<none>.wav", page.QuerySelector("#recording")!.GetAttribute("value"));
        Assert.Equal("It \"hums\" & <i>.", page.QuerySelector("#words")!.TextContent.Trim());
    }

    [Fact]
    public async Task Whoever_may_not_have_it_can_not_tell_of_it()
    {
        await using var host = await WithBoxAsync(Audience.Members);
        var page = await host.Visitor().PageAsync(Page);
        Assert.Empty(page.QuerySelectorAll("main form"));
        Assert.Contains(page.QuerySelectorAll("main a"), a => a.Words() == "Sign in");
    }

    [Fact]
    public async Task It_is_counted_by_person_and_by_network()
    {
        await using var host = await WithBoxAsync(Audience.Free, most: 2);
        var visitor = host.Visitor();
        var page = await visitor.PageAsync(Page);
        for (var i = 0; i < 2; i++)
            await visitor.PressAndFollowAsync(page, "Tell the maker", ("Words", "It clicks."));
        using var late = await visitor.PressAsync(page, "Tell the maker", ("Words", "It clicks."));
        Assert.Equal(HttpStatusCode.TooManyRequests, late.StatusCode);
        Assert.NotNull(late.Headers.RetryAfter);
        var member = await host.SignedInAsync("wren@post.example");
        await member.PressAndFollowAsync(await member.PageAsync(Page), "Tell the maker", ("Words", "It clicks."));
    }

    [Fact]
    public async Task The_maker_finds_it_on_the_next_check_sheet_in_plain_words_and_settles_it_there()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var member = await host.SignedInAsync("wren@post.example");
        await member.PressAndFollowAsync(await member.PageAsync(Page), "Tell the maker", ("Key", "60"), ("Words", "It <script>clicks</script>."));
        var maker = await host.MakerAsync();
        var started = Assert.IsType<StartReleaseOutcome.Started>(await host.RunAsync(
            (StartRelease start) => start.RunAsync("flowerpot-bells", "1.0.1", CancellationToken.None)));
        await host.FileAsync(started.ReleaseId, "a.wav", "a");
        await host.CheckedAsync(started.ReleaseId);
        var sheet = $"/workbench/releases/{started.ReleaseId}/sheet";
        foreach (var address in new[] { sheet, "/workbench/libraries/flowerpot-bells", "/workbench/libraries/flowerpot-bells/faults" })
        {
            var shown = (await maker.PageAsync(address)).QuerySelector("section[aria-labelledby=told]")!;
            Assert.Contains("One person told you that something sounds wrong", shown.Words(), StringComparison.Ordinal);
            Assert.Contains("Key C4, heard in 1.0.0", shown.Words(), StringComparison.Ordinal);
            Assert.Contains("It <script>clicks</script>.", shown.Words(), StringComparison.Ordinal);
            Assert.Empty(shown.QuerySelectorAll("script"));
        }
        Assert.Contains("C4: It <script>clicks</script>.", (await maker.PageAsync($"/workbench/releases/{started.ReleaseId}/seal")).Body!.Words(), StringComparison.Ordinal);

        var page = await maker.PressAndFollowAsync(await maker.PageAsync(sheet), "Mended in 1.0.1: It <script>clicks</script>.");
        Assert.Contains("Kept as mended.", page.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("section[aria-labelledby=told]"));
        page = await maker.PageAsync("/workbench/libraries/flowerpot-bells/faults");
        page = await maker.PressAndFollowAsync(page, "Open it again: It <script>clicks</script>.");
        page = await maker.PressAndFollowAsync(page, "Put it away: It <script>clicks</script>.", ("answer", "It is the pot."));
        Assert.Contains("your answer is on its way", page.QuerySelector("[role=status]")!.Words(), StringComparison.Ordinal);
        Assert.Equal("wren@post.example", await host.AskDbAsync(db => db.Outbox.Select(m => m.To).SingleAsync()));
    }

    private static async Task<ShelfHost> WithBoxAsync(Audience audience, int most = 10)
    {
        var host = new ShelfHost { Settings = { ["Shelf:Faults:MostTold"] = $"{most}" } };
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Flowerpot Bells", audience, "struck", "1.0.0"));
        return host;
    }
}
