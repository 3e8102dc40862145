using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class LibraryPagesTests
{
    [Fact]
    public async Task An_empty_workbench_offers_one_act_and_leads_to_the_first_release()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var empty = await maker.PageAsync("/workbench");
        Assert.Contains("No libraries yet.", empty.Body!.Words(), StringComparison.Ordinal);
        Assert.NotNull(empty.QuerySelector("main .empty svg.board .not-yet"));
        var form = await maker.PageAsync(empty.QuerySelector("main .empty a.button")!.GetAttribute("href")!);

        var library = await maker.PressAndFollowAsync(form, "Add the library", ("Title", "Jam-jar Marimba"), ("Sentence", "Jars, struck."));
        Assert.Equal("Jam-jar Marimba", library.QuerySelector("h1")!.Words());
        var folder = await maker.PressAndFollowAsync(library, "Start the version");
        Assert.Equal("Jam-jar Marimba 1.0.0", folder.QuerySelector("h1")!.Words());

        var full = await maker.PageAsync("/workbench");
        Assert.Contains("One library, none on the shelf yet.", full.Body!.Words(), StringComparison.Ordinal);
        Assert.Contains("1.0.0, draft", full.QuerySelector("tbody tr")!.Words(), StringComparison.Ordinal);
        // What is to be done stands before all that is there, and goes from there as it is done.
        Assert.Equal(["Waiting for you", "All libraries"], full.QuerySelectorAll("main h2").Select(h => h.Words()));
        Assert.Equal(["Jam-jar Marimba 1.0.0 A draft. Send its folder, and let it be checked."], Waiting(full));
        // A drop that lacks something stands before it once it is late or due within a week, and not while it is far off.
        var now = TimeProvider.System.GetUtcNow();
        await host.WithDbAsync(async db =>
        {
            db.Drops.Add(new Drop { Month = new(now.Year, now.Month), DueAt = now.AddDays(9), CreatedAt = now });
            await db.SaveChangesAsync();
        });
        foreach (var (days, isFirst) in new[] { (9, false), (6, true), (-1, true) })
        {
            await host.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, now.AddDays(days))));
            var headings = (await maker.PageAsync("/workbench")).QuerySelectorAll("main h2").Select(h => h.Words().Split(':')[0]).ToList();
            Assert.Equal(isFirst, headings.IndexOf("The next drop") < headings.IndexOf("Waiting for you"));
            Assert.Contains("The next drop", headings);
        }
        await host.WithDbAsync(db => db.Drops.ExecuteDeleteAsync());
        var release = await host.AskDbAsync<long>(db => db.Releases.Select(r => r.Id).SingleAsync());
        await host.CheckedAsync(release, (Severity.MustFix, "a.wav", "Clipped."), (Severity.ListenAgain, "b.wav", "Quiet."));
        Assert.Equal(["Jam-jar Marimba 1.0.0 Checked. One thing must be fixed or excused before it can be sealed."], Waiting(await maker.PageAsync("/workbench")));
        await host.WithDbAsync(db => db.SheetEntries.ExecuteUpdateAsync(s => s.SetProperty(e => e.ExcuseReason, "The jar is so.")));
        Assert.Equal(["Jam-jar Marimba 1.0.0 Checked. Write its words, and seal it."], Waiting(await maker.PageAsync("/workbench")));
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.SealAskedAt, DateTimeOffset.UnixEpoch)));
        Assert.Empty(Waiting(await maker.PageAsync("/workbench")));

        static IEnumerable<string> Waiting(IDocument page) => page.QuerySelectorAll("section[aria-labelledby=waiting] li").Select(li => li.Words());
    }

    [Fact]
    public async Task A_refused_form_comes_back_as_typed_with_the_message_beside_the_field_and_above()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var form = await maker.PageAsync("/workbench/libraries/new");
        var again = await maker.PressAndStayAsync(form, "Add the library",
            ("Title", "Jars & <lids>"), ("Slug", "Not A Slug"), ("Sentence", "Kept."), ("IsKit", "true"), ("Paint", "Oxide"));

        var alert = again.QuerySelector("[role=alert]")!;
        Assert.Contains("What you typed is kept", alert.Words(), StringComparison.Ordinal);
        var input = again.QuerySelector(alert.QuerySelector("a")!.GetAttribute("href")!)!;
        Assert.Equal(("Not A Slug", "true"), (input.GetAttribute("value"), input.GetAttribute("aria-invalid")));
        Assert.All(input.GetAttribute("aria-describedby")!.Split(' '), id => Assert.NotNull(again.GetElementById(id)));
        Assert.Contains("small letters", again.GetElementById("slug-error")!.Words(), StringComparison.Ordinal);
        Assert.Equal("Jars & <lids>", again.GetElementById("title")!.GetAttribute("value"));
        Assert.Equal("Kept.", again.GetElementById("sentence")!.TextContent);
        Assert.True(again.GetElementById("iskit")!.HasAttribute("checked"));
        Assert.True(again.QuerySelector("input[name=Paint][value=Oxide]")!.HasAttribute("checked"));
        Assert.Equal(0, await host.AskDbAsync<int>(db => db.Libraries.CountAsync()));
    }

    [Fact]
    public async Task Who_it_is_for_is_a_dated_decision_and_pressing_twice_adds_none()
    {
        await using var host = new ShelfHost { Clock = new(new DateTimeOffset(2026, 7, 1, 23, 30, 0, TimeSpan.Zero)) };
        var maker = await host.MakerAsync();
        await host.ReleaseAsync();
        for (var i = 0; i < 2; i++)
        {
            var page = await maker.PageAsync("/workbench/libraries/kettle");
            page = await maker.PressAndFollowAsync(page, "Decide", ("audience", "Members"));
            // 23:30 UTC on 1 July is 00:30 on 2 July in the shop's zone, Europe/Lisbon (summer time, UTC+1).
            var history = page.QuerySelectorAll("table").Single(t => t.QuerySelector("th")!.Words() == "Decided");
            Assert.Equal("2 July 2026 at 00:30 Members", Assert.Single(history.QuerySelectorAll("tbody tr")).Words());
        }
    }

    [Fact]
    public async Task Words_and_paint_can_be_changed_and_a_second_draft_is_not_started()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.ReleaseAsync();
        var page = await maker.PageAsync("/workbench/libraries/kettle");
        Assert.DoesNotContain(page.QuerySelectorAll("button"), b => b.Words() == "Start the version");
        page = await maker.PressAndFollowAsync(page, "Save the words", ("Title", "Whole Kettle"), ("Paint", "Sky"));
        Assert.Equal("Whole Kettle", page.QuerySelector("h1")!.Words());
        Assert.Equal(Paint.Sky, await host.AskDbAsync<Paint>(db => db.Libraries.Select(l => l.Paint).SingleAsync()));
    }

    [Fact]
    public async Task A_wrong_number_comes_back_as_typed()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.RunAsync((AddLibrary add) => add.RunAsync(new LibraryWords("Kettle"), null, CancellationToken.None));
        var page = await maker.PageAsync("/workbench/libraries/kettle");
        page = await maker.PressAndStayAsync(page, "Start the version", ("number", "1.0"));
        Assert.Equal("1.0", page.GetElementById("number")!.GetAttribute("value"));
        Assert.Contains("not a version number", page.GetElementById("number-error")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_not_there_is_not_found()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        foreach (var url in new[] { "/workbench/libraries/nothing", "/workbench/releases/9", "/workbench/releases/9/sheet", "/workbench/releases/9/words", "/workbench/releases/9/seal" })
        {
            using var answer = await maker.GetAsync(new Uri(url, UriKind.Relative));
            Assert.Equal(System.Net.HttpStatusCode.NotFound, answer.StatusCode);
        }
    }
}
