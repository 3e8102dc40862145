using System.Net;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class BesideTheShelfTests
{
    private const string Bells = "/boxes/flowerpot-bells";

    [Fact]
    public async Task A_withdrawn_version_keeps_its_place_in_the_story_with_the_reason_and_no_button()
    {
        await using var host = await WithBoxAsync(withdrawn: ["1.1.0"], "1.0.0", "1.1.0", "1.2.0");
        var page = await host.Visitor().PageAsync(Bells);
        var lines = page.QuerySelectorAll(".story > li");
        Assert.Equal(["v1.2.0", "v1.1.0", "v1.0.0"], lines.Select(l => l.Id));
        Assert.Contains("Withdrawn on 20 January 2026: It <b>rattles</b>.", lines[1].Words(), StringComparison.Ordinal);
        Assert.Empty(lines[1].QuerySelectorAll("button, b"));
        Assert.Equal("Download 1.2.0", page.QuerySelector("#download")!.Words());
    }

    [Fact]
    public async Task A_box_whose_only_version_was_withdrawn_stays_and_says_so()
    {
        await using var host = await WithBoxAsync(withdrawn: ["1.0.0"], "1.0.0");
        var page = await host.Visitor().PageAsync(Bells);
        Assert.Contains("Nothing of this box is on the shelf now", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("Withdrawn on 20 January 2026:", page.QuerySelector("#v1\\.0\\.0")!.Words(), StringComparison.Ordinal);
        Assert.Empty(page.QuerySelectorAll("main form"));
        Assert.Empty((await host.Visitor().PageAsync("/")).QuerySelectorAll("a[href='/boxes/flowerpot-bells']"));
    }

    [Fact]
    public async Task A_guest_sees_the_early_version_above_the_others_and_fetches_it()
    {
        await using var host = await WithBoxAsync(withdrawn: [], "1.0.0");
        var guest = await host.SignedInAsync("wren@post.example");
        var person = await host.PersonAsync("wren@post.example");
        await host.WithDbAsync(async db =>
        {
            var release = await db.AddPublishedAsync(db.Libraries.Single(), "1.1.0", ShelfRows.FirstDay.AddDays(2), isEarly: true);
            db.EarlyGuests.Add(new EarlyGuest { ReleaseId = release.Id, PersonId = person.Id });
            await db.SaveChangesAsync();
        });
        var page = await guest.PageAsync(Bells);
        Assert.Equal(["v1.1.0", "v1.0.0"], page.QuerySelectorAll(".story > li").Select(l => l.Id));
        Assert.Contains("Early, for you", page.QuerySelector("#v1\\.1\\.0 h3")!.Words(), StringComparison.Ordinal);
        Assert.Equal("Download 1.0.0", page.QuerySelector("#download")!.Words()); // what is on the shelf stays the box's own
        using var answer = await guest.PressAsync(page, "Whole library 1.1.0 1.9 GB");
        Assert.Equal(HttpStatusCode.SeeOther, answer.StatusCode);
        Assert.Contains("1.1.0 Early, for you", string.Join('\n', (await guest.PageAsync("/mine")).QuerySelectorAll("tr")
            .Select(r => $"{r.QuerySelector("th")!.Words()} {r.QuerySelector("[data-label='Open to you']")?.Words()}")), StringComparison.Ordinal);

        foreach (var other in new[] { host.Visitor(), await host.SignedInAsync("other@post.example") })
            Assert.DoesNotContain("1.1.0", (await other.PageAsync(Bells)).DocumentElement.OuterHtml, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("?player=Pondskater&has=1.8", "For Pondskater 1.8 it is 1.0.0. Newer ones ask for more.", "Whole library 1.0.0, 1.9 GB")]
    [InlineData("?player=pondskater&has=2.10", "For pondskater 2.10 it is 1.1.0, the latest.", "Whole library 1.1.0, 1.9 GB")]
    [InlineData("?player=Pondskater&has=1.7.9", "No version here opens in Pondskater 1.7.9. The oldest that will do is Pondskater 1.8.", null)]
    [InlineData("?player=Rushlight&has=9", "No version here opens in Rushlight 9.", null)]
    [InlineData("?player=Pondskater&has=new", "Write the version of your player as numbers with dots, such as 2.3.", null)]
    [InlineData("?player=%3Cb%3E&has=1", "No version here opens in <b> 1.", null)]
    public async Task The_newest_version_for_a_player_is_found_without_script(string query, string says, string? button)
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = await db.AddBoxAsync("Flowerpot Bells", Audience.Free, "struck");
            foreach (var (number, lowest) in new[] { ("1.0.0", "1.8"), ("1.1.0", "2.3") })
                await db.AddPublishedAsync(library, number, ShelfRows.FirstDay, r => r.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = lowest }));
        });
        var visitor = host.Visitor();
        var page = await visitor.PageAsync(Bells + query);
        var said = page.QuerySelector("section[aria-labelledby=your-player] .notice")!;
        Assert.Contains(says, said.Words(), StringComparison.Ordinal);
        Assert.Equal(button, said.QuerySelector("button")?.Words());
        if (button is null)
            return;
        var form = (AngleSharp.Html.Dom.IHtmlFormElement)said.QuerySelector("form")!;
        var fields = form.QuerySelectorAll("input").Select(i => new KeyValuePair<string, string>(i.GetAttribute("name")!, i.GetAttribute("value")!));
        using var press = new HttpRequestMessage(HttpMethod.Post, Bells) { Content = new FormUrlEncodedContent(fields) };
        press.Headers.Add("Sec-Fetch-Site", "same-origin");
        using var answer = await visitor.SendAsync(press);
        Assert.Contains(button.Split(' ', ',')[2], answer.Headers.Location!.OriginalString, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_it_opens_in_stands_right_above_the_button()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = await db.AddBoxAsync("Flowerpot Bells", Audience.Free, "struck");
            await db.AddPublishedAsync(library, "1.0.0", ShelfRows.FirstDay, r => r.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = "1.8" }));
        });
        var page = await host.Visitor().PageAsync(Bells);
        var form = page.QuerySelector("section[aria-labelledby=download] form")!;
        Assert.Equal("Opens in Pondskater 1.8, or later.", form.PreviousElementSibling!.Words());
    }

    private static async Task<ShelfHost> WithBoxAsync(string[] withdrawn, params string[] numbers)
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            await db.AddBoxAsync("Flowerpot Bells", Audience.Free, "struck", numbers);
            foreach (var release in db.Releases.Where(r => withdrawn.Contains(r.Number)))
            {
                Assert.True(release.MoveTo(ReleaseState.Withdrawn, ShelfRows.FirstDay.AddDays(10)));
                release.WithdrawnBecause = "It <b>rattles</b>.";
            }
            await db.SaveChangesAsync();
        });
        return host;
    }
}
