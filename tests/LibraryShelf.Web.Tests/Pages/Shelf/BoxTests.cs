using System.Net;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class BoxTests
{
    private const string Marimba = "/boxes/jam-jar-marimba";

    [Fact]
    public async Task A_free_box_gives_every_version_to_anyone()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var visitor = host.Visitor();
        var page = await visitor.PageAsync(Marimba);
        Assert.Equal("Jam-jar Marimba", page.QuerySelector("h1")!.Words());
        Assert.Equal("Jam-jar Marimba · Saltmarsh Sound Room", page.Title);
        Assert.Equal("25, C4 to C6", Fact(page, "Keys"));
        Assert.Equal("480: 4 layers, 2 takes", Fact(page, "Recordings"));
        Assert.Equal("2.0.0, published 11 January 2026", Fact(page, "Latest"));
        Assert.Equal("Pondskater 2.3 or Rushlight 5, or later", Fact(page, "Needs"));
        Assert.Contains("works for 30 minutes", page.Body!.TextContent, StringComparison.Ordinal);

        using var answer = await visitor.PressAsync(page, "Whole library 1.9 GB");
        Assert.Equal(HttpStatusCode.SeeOther, answer.StatusCode);
        Assert.StartsWith("/get/", answer.Headers.Location!.OriginalString, StringComparison.Ordinal);
        using var older = await visitor.PressAsync(page, "Whole library 1.0.0, 1.9 GB");
        Assert.Equal(HttpStatusCode.SeeOther, older.StatusCode);
        Assert.Contains("jam-jar-marimba-1.0.0.zip", older.Headers.Location!.OriginalString, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_update_from_the_version_before_stands_beside_the_whole_library()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        await host.WithDbAsync(async db =>
        {
            var ids = db.Releases.ToDictionary(r => r.Number, r => r.Id);
            db.Archives.Add(new LibraryShelf.Core.Sealing.Archive
            {
                ReleaseId = ids["2.0.0"], FromReleaseId = ids["1.0.0"], Kind = LibraryShelf.Core.Sealing.ArchiveKind.Update,
                Length = 38_000_000, FileName = "update.zip", RecipeSha256 = new string('8', 64), CreatedAt = TimeProvider.System.GetUtcNow(),
            });
            db.PossibleUpdates.Add(new LibraryShelf.Core.Sealing.PossibleUpdate { ReleaseId = ids["2.0.0"], FromReleaseId = ids["1.0.0"], Bytes = 38_000_000 });
            await db.SaveChangesAsync();
        });
        var visitor = host.Visitor();
        var page = await visitor.PageAsync(Marimba);
        Assert.Contains("Update archive 38 MB instead of 1.9 GB, from 1.0.0", page.QuerySelector(".version.latest")!.Words(), StringComparison.Ordinal);
        using var answer = await visitor.PressAsync(page, "Update archive, from 1.0.0 38 MB");
        Assert.Contains("update.zip", answer.Headers.Location!.OriginalString, StringComparison.Ordinal);
        using var chosen = await visitor.PressAsync(page, "Update archive");
        Assert.Contains("update.zip", chosen.Headers.Location!.OriginalString, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_story_runs_from_the_latest_down_and_says_where_players_change()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var page = await host.Visitor().PageAsync(Marimba);
        var versions = page.QuerySelectorAll(".story > li");
        Assert.Equal(["v2.0.0", "v1.0.0"], versions.Select(v => v.Id));
        Assert.Contains("Latest", versions[0].QuerySelector("h3")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("Latest", versions[1].QuerySelector("h3")!.Words(), StringComparison.Ordinal);
        Assert.Contains("Notes of 1.0.0.", versions[1].Words(), StringComparison.Ordinal);
        Assert.Equal("From here up: Pondskater 2.3 or Rushlight 5. Below: Pondskater 1.8.", page.QuerySelector(".player-change")!.Words());
    }

    [Fact]
    public async Task A_tied_box_asks_a_visitor_to_sign_in_and_come_back()
    {
        await using var host = await WithBoxAsync(Audience.Members);
        var page = await host.Visitor().PageAsync(Marimba);
        Assert.Empty(page.QuerySelectorAll("main form[method=post]"));
        Assert.Equal("/sign-in?return=%2Fboxes%2Fjam-jar-marimba",
            page.QuerySelectorAll("a").Single(a => a.Words() == "Sign in to download").GetAttribute("href"));
    }

    [Fact]
    public async Task A_member_has_the_button_and_someone_else_does_not()
    {
        await using var host = await WithBoxAsync(Audience.Members);
        var other = await (await host.SignedInAsync("other@post.example")).PageAsync(Marimba);
        Assert.Empty(other.QuerySelectorAll("main form[method=post]"));
        Assert.Contains("is not a member’s today", other.Body!.TextContent, StringComparison.Ordinal);

        var member = await host.PersonAsync("wren@post.example");
        await host.WithDbAsync(async db =>
        {
            db.MembershipGrants.Add(new MembershipGrant { PersonId = member.Id, From = ShelfRows.FirstDay });
            await db.SaveChangesAsync();
        });
        var client = await host.SignedInAsync("wren@post.example");
        var page = await client.PageAsync(Marimba);
        using var answer = await client.PressAsync(page, "Whole library 1.9 GB");
        Assert.Equal(HttpStatusCode.SeeOther, answer.StatusCode);
    }

    [Theory]
    [InlineData(false, "/write", "The maker adds members by hand")]
    [InlineData(true, "/join", "Join, or sign in if you have")]
    public async Task Whoever_is_no_member_is_led_to_where_one_becomes_one(bool isJoiningOpen, string way, string said)
    {
        await using var host = isJoiningOpen
            ? new ShelfHost { Replace = services => services.AddSingleton<Core.Payments.IPayments, Doors.LeavingPayments>() } : new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Jam-jar Marimba", Audience.Members, "struck", "1.0.0"));
        foreach (var client in new[] { host.Visitor(), await host.SignedInAsync("other@post.example") })
        {
            var page = await client.PageAsync(Marimba);
            Assert.Contains(way, page.QuerySelectorAll("[aria-labelledby=download] a.button").Select(a => a.GetAttribute("href")));
            Assert.Contains(said, page.QuerySelector("[aria-labelledby=inside]")!.Words(), StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_licence_is_said_in_plain_words_or_the_page_says_where_its_words_are()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        await SaidAsync("CC-BY-4.0", "", "CC-BY-4.0 the text in the archive You may use it, change it and pass it on, also for money, if you name the maker and say what you changed. That is in short; what holds is the text.");
        await SaidAsync("Unlicense", "", "Unlicense the text in the archive You may do anything with it, also for money, without asking and without naming anyone. It comes without any warranty. That is in short; what holds is the text.");
        await SaidAsync("Zlib", "", "Zlib the text in the archive There are no shorter words for it here: read the text before you use the recordings.");
        await SaidAsync(null, "Mine.", "the maker’s own, in LICENCE.txt the text in the archive There are no shorter words for it here: read the text before you use the recordings.");
        await SaidAsync(null, "Mine.", "the maker’s own, in LICENCE.txt the text in the archive Sing <loud>. That is in short, in the maker’s words; what holds is the text.", "Sing <loud>.");
        var starting = StartingTexts.English.Licence.Replace("{shop}", "Tinworks", StringComparison.Ordinal);
        await SaidAsync(null, starting, $"the maker’s own, in LICENCE.txt the text in the archive {StartingTexts.Plain(starting)} That is in short; what holds is the text.");
        await SaidAsync(null, starting, "the maker’s own, in LICENCE.txt the text in the archive Sing. That is in short, in the maker’s words; what holds is the text.", "Sing.");
        await SaidAsync(null, "", "as for all recordings here the text in the archive What you may do and may not is written on Licence for the recordings. For this version the text in the archive holds.");
        Assert.All(Licences.Offered, l => Assert.InRange(l.Plain.Length, 1, InShort.MaxLength));

        async Task SaidAsync(string? id, string own, string said, string line = "")
        {
            await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r
                .SetProperty(x => x.LicenceSpdx, id).SetProperty(x => x.LicenceText, own).SetProperty(x => x.LicenceInShort, line)));
            Assert.Equal(said, Fact(await host.Visitor().PageAsync(Marimba), "Licence"));
        }
    }

    [Fact]
    public async Task A_button_that_is_pressed_too_late_says_why()
    {
        await using var host = await WithBoxAsync(Audience.Free);
        var person = await host.SignedInAsync("late@post.example");
        var page = await person.PageAsync(Marimba);
        await host.WithDbAsync(async db =>
        {
            db.AudienceDecisions.Add(new AudienceDecision
            {
                LibraryId = db.Libraries.Single().Id, Audience = Audience.Members, DecidedAt = ShelfRows.FirstDay.AddDays(3),
            });
            await db.SaveChangesAsync();
        });
        using var answer = await person.PressAsync(page, "Whole library 1.9 GB");
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
        var body = await answer.Content.ReadAsStringAsync();
        Assert.Contains("No link was made.", body, StringComparison.Ordinal);
        Assert.Contains("Jam-jar Marimba", body, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("/boxes/no-such-box")]
    [InlineData("/boxes/undecided-harp")]
    [InlineData("/nowhere")]
    public async Task What_is_not_there_is_said_in_words_with_a_way_on(string address)
    {
        await using var host = await WithBoxAsync(Audience.Free);
        await host.WithDbAsync(db => db.AddBoxAsync("Undecided Harp", audience: null, "plucked", "1.0.0"));
        using var answer = await host.Visitor().GetAsync(new Uri(address, UriKind.Relative));
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        var body = await answer.Content.ReadAsStringAsync();
        Assert.Contains("<h1>Nothing here</h1>", body, StringComparison.Ordinal);
        Assert.Contains("See what is on the shelf", body, StringComparison.Ordinal);
    }

    private static async Task<ShelfHost> WithBoxAsync(Audience audience)
    {
        var host = new ShelfHost();
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = await db.AddBoxAsync("Jam-jar Marimba", audience, "struck");
            await db.AddPublishedAsync(library, "1.0.0", ShelfRows.FirstDay, r => r.Players.Add(Player("Pondskater", "1.8", 0)));
            await db.AddPublishedAsync(library, "2.0.0", ShelfRows.FirstDay.AddDays(1), r =>
            {
                r.Players.Add(Player("Rushlight", "5", 1));
                r.Players.Add(Player("Pondskater", "2.3", 0));
            });
        });
        return host;
    }

    private static ReleasePlayer Player(string name, string version, int order) => new() { Name = name, LowestVersion = version, Order = order };

    private static string Fact(IDocument page, string name) =>
        page.QuerySelectorAll("dl.facts dt").First(dt => dt.Words() == name).NextElementSibling!.Words();
}
