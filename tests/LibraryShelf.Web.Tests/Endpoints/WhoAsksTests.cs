using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class WhoAsksTests
{
    // Names of programs and whether the list of npm crawler-user-agents has them, computed from the expressions of the list's repository at 7c7f9f2 (2 July 2026) on 2026-11-25; the browsers' are generic examples.
    [Theory]
    [InlineData(true, "Mozilla/5.0 (compatible; Googlebot/2.1; +http://www.google.com/bot.html)")]
    [InlineData(true, "curl/8.5.0")]
    [InlineData(true, "Wget/1.21.4")]
    [InlineData(true, "python-requests/2.31.0")]
    [InlineData(false, "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/124.0.0.0 Safari/537.36")]
    [InlineData(false, "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.4 Safari/605.1.15")]
    [InlineData(false, "Mozilla/5.0 (X11; Linux x86_64; rv:125.0) Gecko/20100101 Firefox/125.0")]
    [InlineData(false, "")]
    [InlineData(false, "-")]
    [InlineData(false, "Mozilla/5.0 (Linux; Android 10; CUBOT_X30) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/124.0.0.0 Mobile Safari/537.36")]
    [InlineData(true, "facebookexternalhit/1.1 (+http://www.facebook.com/externalhit_uatext.php)")]
    [InlineData(true, "Mozilla/5.0 AppleWebKit/537.36 (KHTML, like Gecko; compatible; GPTBot/1.0; +https://openai.com/gptbot)")]
    [InlineData(false, "aria2/1.37.0")]
    [InlineData(true, "Go-http-client/1.1")]
    [InlineData(true, "okhttp/4.12.0")]
    [InlineData(true, "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) HeadlessChrome/124.0.0.0 Safari/537.36")]
    [InlineData(true, "Feedly/1.0 (+http://www.feedly.com/fetcher.html; 5 subscribers)")]
    [InlineData(true, "ia_archiver")]
    [InlineData(true, "Mozilla/5.0 (compatible; bingbot/2.0; +http://www.bing.com/bingbot.htm)")]
    [InlineData(false, "Java/17.0.1")]
    [InlineData(true, "libwww-perl/6.67")]
    public void Robots_are_known_by_the_list(bool isRobot, string program)
    {
        using var list = Listed();
        Assert.Equal(isRobot, new Robots(list).Knows(program));
    }

    private static Stream Listed() => typeof(Web.Jobs.JobChain).Assembly.GetManifestResourceStream("robots.json")!;

    /// <summary>Plain names are looked for as such, the rest as expressions: together they know every robot that the list names as an instance of a pattern.</summary>
    [Fact]
    public void Every_robot_that_the_list_names_is_known()
    {
        using var stream = Listed();
        using var list = System.Text.Json.JsonDocument.Parse(stream);
        var entries = list.RootElement.EnumerateArray().ToList();
        stream.Position = 0;
        var robots = new Robots(stream);
        Assert.InRange(entries.Count, 1_000, int.MaxValue);
        foreach (var entry in entries)
        {
            var pattern = entry.GetProperty("pattern").GetString()!;
            foreach (var instance in entry.GetProperty("instances").EnumerateArray().Select(i => i.GetString()!))
                Assert.True(robots.Knows(instance), $"{instance} is an instance of {pattern}");
        }
    }

    [Theory]
    [InlineData("curl/8.5.0", true)]
    [InlineData("Mozilla/5.0 (X11; Linux x86_64; rv:125.0) Gecko/20100101 Firefox/125.0", false)]
    public async Task What_is_kept_of_a_visitor_is_a_hash_and_of_who_is_signed_in_nothing_more(string program, bool isRobot)
    {
        await using var shelf = await StockedHost.MakeAsync([], 100);
        List<string> links = [];
        foreach (var client in new[] { shelf.Host.Visitor(), await shelf.Host.SignedInAsync("dunlin@post.example") })
        {
            client.DefaultRequestHeaders.UserAgent.ParseAdd(program);
            var page = await client.PageAsync("/boxes/fluegel-and-tin");
            using var pressed = await client.PressAsync(page, page.QuerySelectorAll("button").Select(b => b.Words()).First(w => w.StartsWith("Whole library", StringComparison.Ordinal)));
            links.Add(pressed.Headers.Location!.OriginalString);
            Assert.StartsWith("/get/", links[^1], StringComparison.Ordinal);
        }
        var rows = await shelf.Host.AskDbAsync(db => db.Downloads.AsNoTracking().OrderBy(d => d.PersonId != null).ToListAsync());
        Assert.Matches("^[A-Za-z0-9_-]{16}$", rows[0].Visitor);
        Assert.Equal((null, isRobot), (rows[0].PersonId, rows[0].IsRobot));
        // Signed in, it is nobody's robot, whatever program it is.
        Assert.Equal((true, null, false), (rows[1].PersonId is not null, rows[1].Visitor, rows[1].IsRobot));

        // So it is counted, whatever fetches the links: here a robot of the list does.
        foreach (var link in links)
            using (var answer = await shelf.GetAsync(link, ("User-Agent", "Mozilla/5.0 (compatible; Googlebot/2.1; +http://www.google.com/bot.html)")))
                Assert.Equal(shelf.Whole, await answer.Content.ReadAsByteArrayAsync());
        foreach (var row in rows)
        {
            await shelf.EventsAsync(row.Id, e => e.Sum(one => one.To - one.From) == shelf.Whole.Length);
            Assert.NotNull((await shelf.CountAsync(row.Id))!.FinishedAt);
        }
        await shelf.Host.RunAsync<RollUpDays, int>(roll => roll.RunAsync(default));
        var counts = await shelf.Host.AskDbAsync(db => db.DayCounts.AsNoTracking().ToListAsync());
        Assert.Equal(isRobot ? [(FetchedBy.Free, 1, 1), (FetchedBy.Robots, 1, 1)] : [(FetchedBy.Free, 2, 2)], counts.OrderBy(c => c.By).Select(c => (c.By, c.Started, c.Finished)));
        var people = await shelf.Host.AskDbAsync(db => db.DayPeople.AsNoTracking().SingleAsync(p => p.LibraryId == 0));
        Assert.Equal((isRobot ? 1 : 2, 1), (people.People, people.SignedIn));
    }
}
