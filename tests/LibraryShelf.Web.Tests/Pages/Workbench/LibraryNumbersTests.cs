using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class LibraryNumbersTests
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);
    private const string Browser = "Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101 Firefox/128.0";

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    private static async Task<ShelfHost> HostAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "=Tin Roof", CreatedAt = Now };
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = Now });
            var release = new Release { Number = "1.0.0", CreatedAt = Now };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, Now));
            library.Releases.Add(release);
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            db.Archives.Add(new Archive { ReleaseId = release.Id, RecipeSha256 = "r", Length = 10, FileName = "r.zip", CreatedAt = Now });
            db.DayCounts.Add(new DayCount { Day = new LocalDate(2026, 11, 10), LibraryId = library.Id, ReleaseId = release.Id, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 4, Finished = 3, Ended = 3, Left = 1, LeftAgain = 1, LeftCovered = 3, LeftLength = 10 });
            await db.SaveChangesAsync();
        });
        return host;
    }

    private static async Task LookAsync(ShelfHost host, string path, string? referer, string agent)
    {
        using var visitor = host.Visitor();
        using var request = new HttpRequestMessage(HttpMethod.Get, path);
        request.Headers.TryAddWithoutValidation("User-Agent", agent);
        if (referer is not null)
            request.Headers.TryAddWithoutValidation("Referer", referer);
        using var answer = await visitor.SendAsync(request);
        answer.EnsureSuccessStatusCode();
    }

    [Fact]
    public async Task A_list_that_is_cut_says_so_and_its_file_has_all()
    {
        await using var host = await HostAsync();
        await host.WithDbAsync(async db =>
        {
            for (var i = 0; i < 201; i++)
                Add(SightingKind.Search, $"word {i:000}", 300 - i);
            for (var i = 0; i < 200; i++)
                Add(SightingKind.Referrer, $"host{i:000}.example", 1);
            await db.SaveChangesAsync();

            void Add(SightingKind kind, string word, int times)
            {
                db.Sightings.Add(new Sighting { Day = new LocalDate(2026, 11, 10), Kind = kind, Word = word, Times = times });
                db.MonthSightings.Add(new MonthSighting { Month = new YearMonth(2026, 11), Kind = kind, Word = word, Times = times });
            }
        });
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/libraries");
        Assert.Equal((201, "word 199|101"), (page.QuerySelectorAll("#searches tr").Length, Row(page.QuerySelectorAll("#searches tr")[^1])));
        Assert.Equal("The first 200, most often first. The file has all of them, CSV", page.QuerySelector("#searches + p")!.Words());
        var file = await maker.GetStringAsync(new Uri(page.QuerySelector("#searches + p a")!.GetAttribute("href")!, UriKind.Relative));
        Assert.Equal(201, file.Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Length - 1);
        Assert.EndsWith("word 200,100\r\n", file, StringComparison.Ordinal);
        // All of them are shown, so nothing is said.
        Assert.Equal((201, null), (page.QuerySelectorAll("#came-from tr").Length, page.QuerySelector("#came-from + p")));
    }

    [Fact]
    public async Task Where_people_came_from_and_what_they_looked_for_in_vain_is_told_without_who()
    {
        await using var host = await HostAsync();
        await LookAsync(host, "/boxes/tin-roof", "https://Reeds.example/secret/page?who=ada", Browser);
        await LookAsync(host, "/boxes/tin-roof", "https://reeds.example/", Browser);
        await LookAsync(host, "/", "http://localhost/boxes/tin-roof", Browser);
        await LookAsync(host, "/", "android-app://org.example.reader/", Browser);
        await LookAsync(host, "/", "not an address", Browser);
        await LookAsync(host, "/boxes/tin-roof", "https://crawler.example/", "Googlebot/2.1 (+http://www.google.com/bot.html)");
        await LookAsync(host, "/?find=%20Bowed%20%20SAW%20", null, Browser);
        await LookAsync(host, "/?find=tin", null, Browser);
        await LookAsync(host, "/?find=ada%40example.org", null, Browser);
        await host.RunAsync<KeepSightings, int>(keep => keep.RunAsync(CancellationToken.None));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/libraries");
        Assert.Equal(["Host|To|Times", "reeds.example|=Tin Roof|2"], page.QuerySelectorAll("#came-from tr").Select(Row));
        Assert.Equal(["Words|Times", "bowed saw|1"], page.QuerySelectorAll("#searches tr").Select(Row));
        // How far it came stands under its bar, not in the table alone.
        Assert.Equal("They came to 30 % of it, on average.", page.QuerySelector(".of-shares dd p")!.Words().Replace('\u00a0', ' '));
        Assert.Equal("Most wanted: =Tin Roof, finished 3 times whole. Of 4 downloads begun a week ago or longer, 1 was never finished.", page.QuerySelector("p.said")!.Words());
        Assert.Equal(
            ["box,title,whole_bytes,finished_whole,finished_updates,begun,not_finished,resumes,not_finished_known,not_finished_asked_again,not_finished_bytes_covered,not_finished_bytes_in_all,whole_not_finished,whole_not_finished_known,whole_not_finished_asked_again,finished_whole_free,finished_whole_members,finished_updates_free,finished_updates_members,begun_free,begun_members,not_finished_free,not_finished_members\r\ntin-roof,'=Tin Roof,10,3,0,4,1,0,1,1,3,10,1,1,1,3,0,0,0,4,0,1,0\r\n",
                "host,title,times\r\nreeds.example,'=Tin Roof,2\r\n", "looked_for,times\r\nbowed saw,1\r\n"],
            await Task.WhenAll(page.QuerySelectorAll("ul.plain a[href*=Csv]").Select(async a => await maker.GetStringAsync(new Uri(a.GetAttribute("href")!, UriKind.Relative)))));
    }

    /// <summary>docs/counting.md, "why, perhaps". The size is the whole library's: updates of a large one that nobody finished are not large.</summary>
    [Theory]
    // Of whole libraries of 5 GB that nobody finished: how many are known, and how many of those asked again.
    [InlineData(5.0, 5, 5, 2, 30, "They came to 30 % of it, on average. Large: 5.0 GB. Most never asked again; perhaps their programs can’t go on after a break.")]
    [InlineData(5.0, 6, 6, 3, 30, "They came to 30 % of it, on average. Large: 5.0 GB.")]
    // Of fewer than five nothing is said that would be "most" of them.
    [InlineData(5.0, 4, 4, 0, 30, "They came to 30 % of it, on average. Large: 5.0 GB.")]
    [InlineData(5.0, 5, 0, 0, null, "Large: 5.0 GB.")]
    [InlineData(4.5, 5, 5, 2, 99, "They came to 99 % of it, on average.")]
    // Updates alone were left: 9 of them.
    [InlineData(5.0, 0, 9, 4, 0, "They came to less than 1 % of it, on average.")]
    [InlineData(5.0, 0, 9, 5, 1, "They came to 1 % of it, on average. Most asked again and broke off again: perhaps the way to them breaks.")]
    [InlineData(1.0, 3, 6, 3, 50, "They came to 50 % of it, on average. Most asked again and broke off again: perhaps the way to them breaks.")]
    [InlineData(1.0, 3, 4, 4, 50, "They came to 50 % of it, on average.")]
    [InlineData(1.0, 1, 1, 1, 50, "They came to 50 % of it, on average.")]
    [InlineData(1.0, 3, 0, 0, null, "")]
    public void How_far_they_came_is_told_and_why_they_stopped_is_guessed(double gigabytes, int wholeLeft, int known, int again, int? percent, string said)
    {
        var left = percent is { } came ? new BoxLeft(known, again, came * 10, 1_000) : BoxLeft.Unknown;
        var box = new BoxNumbers(1, "a", "A", (long)(gigabytes * 1e9), 1, 1, 40, 9, 1) { Left = left, Whole = new(20, wholeLeft, 1) { Left = wholeLeft > 0 ? left : BoxLeft.Unknown } };
        Assert.Equal(said, LibraryShelf.Web.Pages.Workbench.Numbers.FigureBars.Guess(box).Replace('\u00a0', ' '));
        Assert.Equal("", LibraryShelf.Web.Pages.Workbench.Numbers.FigureBars.Guess(box with { NotFinished = 0 }));
    }

    [Fact]
    public async Task The_makers_own_looking_is_left_out()
    {
        await using var host = await HostAsync();
        var maker = await host.MakerAsync();
        using var request = new HttpRequestMessage(HttpMethod.Get, "/?find=nothing");
        request.Headers.Referrer = new Uri("https://reeds.example/");
        using var answer = await maker.SendAsync(request);
        await host.RunAsync<KeepSightings, int>(keep => keep.RunAsync(CancellationToken.None));
        Assert.Equal(0, await host.AskDbAsync(db => db.Sightings.CountAsync(s => s.Kind != SightingKind.Answer)));
    }

    [Fact]
    public async Task Answers_to_links_and_what_bytes_cost_are_shown()
    {
        await using var host = await HostAsync();
        await LookAnyAsync(host, HttpMethod.Get);
        await LookAnyAsync(host, HttpMethod.Head);
        await host.RunAsync<KeepSightings, int>(keep => keep.RunAsync(CancellationToken.None));
        await host.WithDbAsync(db => (Task)db.DayCounts.ExecuteUpdateAsync(s => s.SetProperty(c => c.Bytes, 3_400_000_000_000)));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads");
        Assert.Equal(["Answer|Times", "403, not or no longer a link of this shelf|1", "asked about, no bytes wanted|1"], page.QuerySelectorAll("#answers tr").Select(Row));
        Assert.DoesNotContain(page.QuerySelectorAll("[aria-label=Sums] tr").Select(Row), r => r.StartsWith("What that costs", StringComparison.Ordinal));
        var set = await maker.PressAndFollowAsync(page, "Keep it", ("price", "0.005"));
        Assert.StartsWith("What that costs|EUR 17.00|At your price of EUR 0.005 ", set.QuerySelectorAll("[aria-label=Sums] tr").Select(Row).Single(r => r.StartsWith("What", StringComparison.Ordinal) && !r.StartsWith("What|", StringComparison.Ordinal)), StringComparison.Ordinal);
        using var wrong = await maker.PressAsync(set, "Keep it", ("price", "cheap"));
        Assert.Equal(System.Net.HttpStatusCode.BadRequest, wrong.StatusCode);
        Assert.Contains("The one before is kept.", await wrong.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    private static async Task LookAnyAsync(ShelfHost host, HttpMethod method)
    {
        using var visitor = host.Visitor();
        using var request = new HttpRequestMessage(method, "/get/nothing/here.zip");
        using var answer = await visitor.SendAsync(request);
    }
}
