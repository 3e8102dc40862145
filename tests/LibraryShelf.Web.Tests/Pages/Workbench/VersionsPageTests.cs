using System.Globalization;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class VersionsPageTests
{
    private const string Place = "/workbench/numbers/versions";
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    /// <summary>1.0.0 for Pondskater 1.8, 1.1.0 for Pondskater 2.3, out 200 and 10 days ago; nine people have the one, six of them the other by now.</summary>
    private static async Task<ShelfHost> StockAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        await host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "Tin Roof" };
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = Now.AddDays(-200) });
            foreach (var (number, player, daysAgo) in new[] { ("1.0.0", "1.8", 200), ("1.1.0", "2.3", 10) })
            {
                var release = new Release { Number = number };
                foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                    Assert.True(release.MoveTo(state, Now.AddDays(-daysAgo)));
                release.TellAskedAt = null;
                release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = player });
                library.Releases.Add(release);
            }
            db.Libraries.Add(library);
            db.DayRolls.Add(new DayRoll { Day = LocalDate.FromDateTime(Now.AddDays(-100).UtcDateTime), Changed = 1, Rolled = 1 });
            for (var i = 1; i <= 9; i++)
                db.Users.Add(new Person { Id = 100 + i, Email = $"p{i}@example.org", NormalizedEmail = $"P{i}@EXAMPLE.ORG", UserName = $"p{i}", NormalizedUserName = $"P{i}", SecurityStamp = "s", CreatedAt = Now });
            await db.SaveChangesAsync();
            foreach (var (version, person, daysAgo) in Enumerable.Range(1, 9).Select(p => (0, p, 100)).Concat([(1, 1, 9), (1, 2, 9), (1, 3, 8), (1, 4, 8), (1, 5, 5), (1, 6, 1)]))
            {
                var (id, at) = ($"d{version}-{person}", Now.AddDays(-daysAgo));
                db.Downloads.Add(new Download { Id = id, ReleaseId = library.Releases[version].Id, LibraryId = library.Id, PersonId = 100 + person, Why = MayDownloadWhy.Free, StartedAt = at });
                db.DownloadTallies.Add(new DownloadTally { DownloadId = id, StartedAt = at, FinishedAt = at });
            }
            await db.SaveChangesAsync();
            Assert.True(await new RollUpVersions(db, host.Clock!).RunAsync(default));
        });
        return host;
    }

    [Fact]
    public async Task A_shelf_without_versions_says_so()
    {
        await using var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        var page = await (await host.MakerAsync()).PageAsync(Place);
        Assert.Equal("No version is on the shelf yet.", page.QuerySelector("p.said")!.Words());
        Assert.Null(page.QuerySelector("svg.plot"));
    }

    [Fact]
    public async Task Sentence_picture_table_file_and_rows_tell_the_same()
    {
        await using var host = await StockAsync();
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync(Place + "?library=tin-roof&from=2026-11-14&to=2026-11-25");
        Assert.Equal("Of 9 people with Tin Roof, 6 have 1.1.0, the latest: 67 %. Of the others most have 1.0.0.", page.QuerySelector("p.said")!.Words().Replace('\u00a0', ' '));
        Assert.Equal(["tone-2", "tone-now"], page.QuerySelectorAll(".stack-plot path.area").Select(a => a.ClassList[1]));
        Assert.Equal(["1.1.0: 67 %", "1.0.0: 33 %"], page.QuerySelectorAll(".stack-plot .ends text").Select(t => t.Words().Replace('\u00a0', ' ')));
        Assert.Equal("1.1.0 out", page.QuerySelector(".stack-plot text")!.Words());

        // The table, the file, and the rows that say whose newest it is, added up by hand.
        var table = page.QuerySelectorAll("#people-by-version tr").Select(Row).ToList();
        Assert.Equal(13, table.Count);
        Assert.Equal("At the end of|People|1.1.0|1.0.0", table[0]);
        using var answer = await maker.GetAsync(new Uri(page.QuerySelector("a[href*=Csv]")!.GetAttribute("href")!, UriKind.Relative));
        var file = (await answer.Content.ReadAsStringAsync()).Split("\r\n");
        Assert.Equal("day,box,title,version,people,of", file[0]);
        var rows = await host.AskDbAsync(db => db.PersonVersions.AsNoTracking().ToListAsync());
        for (var (day, line) = (new LocalDate(2026, 11, 25), 1); line < table.Count; day = day.PlusDays(-1), line++)
        {
            var by = rows.GroupBy(r => r.PersonId).Select(p => p.Where(r => r.Day <= day).MaxBy(r => r.Since)!).ToList();
            var (latest, first) = (by.Count(r => r.FromReleaseId != 0), by.Count(r => r.FromReleaseId == 0));
            Assert.Equal($"{VersionWords.Day(day)}|9|{VersionWords.Of(latest, 9)}|{VersionWords.Of(first, 9)}".Replace('\u00a0', ' '), table[line]);
            var iso = day.ToString("uuuu-MM-dd", CultureInfo.InvariantCulture);
            Assert.Contains($"{iso},tin-roof,Tin Roof,1.0.0,{first},9", file);
            Assert.Equal(latest > 0, file.Contains($"{iso},tin-roof,Tin Roof,1.1.0,{latest},9"));
        }
        Assert.Equal("25 November 2026|9|6 (67 %)|3 (33 %)", table[1].Replace('\u00a0', ' '));
    }

    [Fact]
    public async Task The_share_on_the_latest_is_a_line_a_table_and_a_file_of_every_day()
    {
        await using var host = await StockAsync();
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync(Place + "?library=tin-roof&from=2026-11-14&to=2026-11-25");
        var table = page.QuerySelectorAll("#latest tbody tr").Select(Row).ToList();
        var file = (await maker.GetStringAsync(Place + "?handler=LatestCsv&library=tin-roof&from=2026-11-14&to=2026-11-25")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal("day,box,title,latest,people,of", file[0]);
        var rows = await host.AskDbAsync(db => db.PersonVersions.AsNoTracking().ToListAsync());
        var line = page.QuerySelector("figure [data-line]")!.GetAttribute("data-values")!.Split(',');
        Assert.Equal((12, 13, 12), (table.Count, file.Length, line.Length));
        for (var (day, i) = (new LocalDate(2026, 11, 14), 0); i < 12; day = day.PlusDays(1), i++)
        {
            var had = rows.Count(r => r.FromReleaseId != 0 && r.Day <= day);
            Assert.Equal($"{day:uuuu-MM-dd},tin-roof,Tin Roof,1.1.0,{had},9", file[i + 1]);
            Assert.StartsWith($"{VersionWords.Day(day)}|9|{had}|", table[11 - i], StringComparison.Ordinal);
            Assert.Equal(100.0 * had / 9, double.Parse(line[i], CultureInfo.InvariantCulture), 0.005);
        }
        Assert.Equal("25 November 2026|9|6|67 %", table[0].Replace('\u00a0', ' '));
        Assert.Equal("on 1.1.0: 67 %", page.QuerySelector("[data-line] .ends text")!.Words().Replace('\u00a0', ' '));
        Assert.Equal(
            "box,title,version,out_on,had_the_box,have_it_by_now,days_to_half,days_to_nine_in_ten\r\ntin-roof,Tin Roof,1.1.0,2026-11-15,9,6,5,\r\n", await maker.GetStringAsync(Place + "?handler=UptakesCsv&library=tin-roof"));

        var glance = await maker.PageAsync("/workbench/numbers");
        Assert.Equal("25 November 2026|6 of 9 (67 %)", Row(glance.QuerySelector("#shares tbody tr")!).Replace('\u00a0', ' '));
        Assert.Equal(file[^1], (await maker.GetStringAsync("/workbench/numbers?handler=SharesCsv")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries)[^1]);
    }

    [Fact]
    public async Task Two_ranges_stand_beside_each_other_at_their_last_days()
    {
        await using var host = await StockAsync();
        var page = await (await host.MakerAsync()).PageAsync(Place + "?library=tin-roof&from=2026-11-16&to=2026-11-25&against=2026-11-08");
        Assert.EndsWith("At the end of 17 November 2026 4 of 9 people had 1.1.0, 44 %: in these days 23 in a hundred more.", page.QuerySelector("p.said")!.Words().Replace('\u00a0', ' '), StringComparison.Ordinal);
        Assert.Equal(
            ["What|25 November 2026|17 November 2026|Difference", "People with any version|9|9|as many", "with 1.1.0|6 (67 %)|4 (44 %)|2 more", "with 1.0.0|3 (33 %)|5 (56 %)|2 fewer"],
            page.QuerySelectorAll("#beside tr").Select(r => Row(r).Replace('\u00a0', ' ')));
        Assert.Equal(["stack-words", "stack-beside"], page.QuerySelectorAll(".stack-plot title").Select(t => t.Id));
        Assert.Equal("17 November 2026|9|4 (44 %)|5 (56 %)", Row(page.QuerySelectorAll("#people-by-version-beside tbody tr")[0]).Replace('\u00a0', ' '));
        // The line of it too, in the same scale of a hundred: of nine people two, then four, had 1.1.0 on the 16th and the 17th.
        Assert.Equal(["latest-line", "latest-beside-line"], page.QuerySelectorAll("[data-line] title").Select(t => t.Id));
        Assert.Equal(["17 November 2026|9|4|44 %", "16 November 2026|9|2|22 %"], page.QuerySelectorAll("#latest-beside tbody tr").Take(2).Select(r => Row(r).Replace('\u00a0', ' ')));
        Assert.Equal(
            ["2026-11-17,tin-roof,Tin Roof,1.1.0,4,9", "2026-11-16,tin-roof,Tin Roof,1.1.0,2,9"],
            (await (await host.MakerAsync()).GetStringAsync(new Uri(page.QuerySelectorAll("a").Single(a => a.Words() == "Share on the latest in the days beside, CSV").GetAttribute("href")!, UriKind.Relative))).Split("\r\n", StringSplitOptions.RemoveEmptyEntries)[1..].Reverse().Take(2));
        // Of days before it came out nobody had what is the latest today, and that is not the same as none being on the shelf.
        var before = await (await host.MakerAsync()).PageAsync(Place + "?library=tin-roof&from=2026-11-16&against=2026-10-01");
        Assert.EndsWith("At the end of 10 October 2026 none of 9 people had 1.1.0.", before.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.All(before.QuerySelectorAll("#latest-beside tbody tr"), r => Assert.EndsWith("|9|0|none", Row(r), StringComparison.Ordinal));
        Assert.Equal("Of 9 people with Tin Roof, nobody has 1.1.0, the latest. Of the others most have 1.0.0.", (await (await host.MakerAsync()).PageAsync(Place + "?library=tin-roof&from=2026-10-01&to=2026-10-10")).QuerySelector("p.said")!.Words());
        var early = await (await host.MakerAsync()).PageAsync(Place + "?library=tin-roof&from=2026-11-16&against=2026-01-01");
        Assert.EndsWith("Nothing stands beside it: of days before 17 August 2026 nothing is known.", early.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task It_says_how_long_it_took_and_who_is_left_behind_and_why()
    {
        await using var host = await StockAsync();
        await host.WithDbAsync(db =>
        {
            db.MailRefusals.Add(new() { PersonId = 108, Kind = Core.Mail.MailKind.NewVersion });
            return db.SaveChangesAsync();
        });
        var page = await (await host.MakerAsync()).PageAsync(Place);
        // Nine had it: the fifth of them 5 days after it came out, 90 % (nine) not yet.
        Assert.Equal("1.1.0|15 November 2026|9|5 days|not yet|6 (67 %)", Row(page.QuerySelectorAll("#uptakes tbody tr").Single()).Replace('\u00a0', ' '));
        // The same drawn: to half after five days, and dashed on beyond the seven of the picture, because ten have gone by.
        var drawn = page.QuerySelector(".how-long")!;
        Assert.Equal("1.1.0: half after 5 days, nine in ten not yet.", drawn.QuerySelector(".hidden-words")!.Words());
        Assert.Equal(["0", "7 days", "not yet", "5"], drawn.QuerySelectorAll("text").Select(t => t.Words()));
        Assert.Equal(["9%-61.14%", "61.14%-82%"], drawn.QuerySelectorAll("line[stroke]").Select(l => $"{l.GetAttribute("x1")}-{l.GetAttribute("x2")}"));
        Assert.Equal("1.0.0|1.1.0 opens in Pondskater 2.3, or later; 1.0.0 opened in Pondskater 1.8.|3", Row(page.QuerySelectorAll("#behind-versions tbody tr").Single()));
        Assert.Equal(
            ["p7@example.org|17 Aug 2026|1.1.0|Not told yet.", "p8@example.org|17 Aug 2026|1.1.0|Not told: wants no mails about new versions.", "p9@example.org|17 Aug 2026|1.1.0|Not told yet."],
            page.QuerySelectorAll("#behind-people tbody tr").Select(Row));
    }

    [Fact]
    public async Task The_letter_is_seen_first_and_sent_by_the_second_press_once()
    {
        await using var host = await StockAsync();
        var maker = await host.MakerAsync();
        var page = await maker.PressAndStayAsync(await maker.PageAsync(Place + "/tin-roof/letter"), "See the letter and who gets it", ("Words", "The lid is *quieter* now."));
        Assert.Equal("Three people get this letter about Tin Roof 1.1.0.", page.QuerySelector("p.said")!.Words());
        Assert.StartsWith("The lid is quieter now.\n\nTin Roof 1.1.0 is on the shelf", page.QuerySelector("#letter")!.TextContent, StringComparison.Ordinal);
        Assert.Equal(0, await host.AskDbAsync(db => db.BehindLetters.CountAsync()));

        page = await maker.PressAndFollowAsync(page, "Send it to three people");
        var release = await host.AskDbAsync(db => db.BehindLetters.Select(l => l.ReleaseId).SingleAsync());
        await using (var scope = host.Services.CreateAsyncScope())
            await ActivatorUtilities.CreateInstance<TellJob>(scope.ServiceProvider).RunAsync(release, default);
        Assert.Equal(["p7@example.org", "p8@example.org", "p9@example.org"], await host.AskDbAsync(db =>
            db.Outbox.Where(m => m.Cause.StartsWith("behind:")).Join(db.Users, m => m.PersonId, p => p.Id, (m, p) => p.Email!).OrderBy(e => e).ToListAsync()));
        page = await maker.PageAsync(Place + "/tin-roof/letter");
        Assert.Equal("You wrote to three people about 1.1.0 on 25 November 2026. Nobody is written to about one version twice. The mails stand in the outbox.", page.QuerySelector("p.said")!.Words());
        Assert.Null(page.QuerySelector("form[action*=Send]"));
    }

    [Fact]
    public async Task A_box_that_is_not_there_has_no_letter()
    {
        await using var host = await StockAsync();
        using var answer = await (await host.MakerAsync()).GetAsync(new Uri(Place + "/no-such-box/letter", UriKind.Relative));
        Assert.Equal(System.Net.HttpStatusCode.NotFound, answer.StatusCode);
    }

    [Fact]
    public void What_is_not_none_is_not_said_to_be_none_and_what_is_not_all_not_all()
    {
        Assert.Equal(["none", "under 1 %", "1 %", "50 %", "99 %", "over 99 %", "100 %", "–"], new[] { (0, 1000), (9, 1000), (10, 1000), (500, 1000), (990, 1000), (999, 1000), (1000, 1000), (0, 0) }
            .Select(p => VersionWords.Percent(p.Item1, p.Item2).Replace('\u00a0', ' ')));
        Assert.Equal(["not yet", "the same day", "1 day", "12 days"], new int?[] { null, 0, 1, 12 }.Select(VersionWords.Days));
    }

    /// <summary>In one scale, up to the first end beyond the slowest and a fifth; by hand, 9 to 82 % of the width are 45 days: 13 days are 30.09 %.</summary>
    [Fact]
    public void How_long_each_version_took_is_a_line_to_half_and_to_nine_in_ten()
    {
        var today = new LocalDate(2026, 11, 25);
        static VersionUptake Of(string number, LocalDate outOn, int? half, int? most) => new(new(number.Length + outOn.Day, number, outOn), 72, 50, half, most);
        var rows = new HowLongRows([Of("2.0.0", today.PlusDays(-40), 13, null), Of("1.1.0", today.PlusDays(-1000), 6, null), Of("1.0.1", today.PlusDays(-300), 0, 30), Of("1.0.0", today.PlusDays(-20), null, null)], latestId: 5 + 16, today);
        Assert.Equal((45, "2.0.0: half after 13 days, nine in ten not yet. 1.1.0: half after 6 days, nine in ten not yet. 1.0.1: half on the same day, nine in ten after 30 days. 1.0.0: half not yet."), (rows.Days, rows.Words));
        Assert.Equal(["2.0.0 ring 30.09% block  solid 30.09% dashed 73.89%", "1.1.0 ring 18.73% block  solid 18.73% dashed 82%", "1.0.1 ring 9% block 57.67% solid 57.67% dashed ", "1.0.0 ring  block  solid 9% dashed 41.44%"],
            rows.Rows.Select(r => $"{r.Name} ring {r.RingX} block {r.BlockX} solid {r.SolidTo} dashed {r.DashedTo}"));
        Assert.Equal(["2.0.0"], rows.Rows.Where(r => r.IsLatest).Select(r => r.Name));
        // Where nothing is reached it is as long as the longest has been out.
        Assert.Equal(4, new HowLongRows([Of("1.0.0", today.PlusDays(-3), null, null)], null, today).Days);
        Assert.Equal(2_400, new HowLongRows([Of("1.0.0", today.PlusDays(-2_400), null, null)], null, today).Days);
    }

    /// <summary>Twelve versions, each day another; areas fill the height, and words stand apart.</summary>
    [Fact]
    public void Many_versions_become_few_areas_and_their_words_keep_apart()
    {
        var versions = Enumerable.Range(0, 12).Select(i => new ShareVersion(i + 1, $"1.{i}.0", new LocalDate(2026, 11, 1).PlusDays(i))).ToList();
        var days = Enumerable.Range(0, 13).Select(d => new ShareDay(new LocalDate(2026, 10, 31).PlusDays(d), [.. Enumerable.Range(0, 12).Select(v => d == 0 ? 0 : v < d ? 2 : 0)])).ToList();
        var stack = new VersionStack(new(new("box", "Box"), [], new(days[0].Day, days[^1].Day), "UTC", versions, 12, days, []));
        Assert.Equal(["5", "5", "5", "4", "3", "2", "now"], stack.Areas.Select(a => a.Tone));
        Assert.Equal("1.11.0: 8 %|1.10.0: 8 %|1.9.0: 8 %|1.8.0: 8 %|1.7.0: 8 %|1.6.0: 8 %|1.5.0 and before: 50 %", string.Join('|', stack.Ends.Select(e => e.Words.Replace('\u00a0', ' '))));
        Assert.All(stack.Ends.Zip(stack.Ends.Skip(1)), pair => Assert.InRange(pair.Second.Y - pair.First.Y, 20, VersionStack.PlotHeight));
        Assert.All(stack.Ends, e => Assert.InRange(e.Y, 0, VersionStack.PlotHeight));
        Assert.Equal(12, stack.Came.Count);
        // The first day nobody had any: the areas begin on the next.
        Assert.StartsWith("M83.3 ", stack.Areas[0].Path, StringComparison.Ordinal);
        Assert.Contains(" 0L", stack.Areas[^1].Path, StringComparison.Ordinal);
    }
}
