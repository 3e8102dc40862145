using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Faults;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>What stands, at the top of the workbench.</summary>
public sealed class StandingTests
{
    [Fact]
    public async Task What_stands_is_at_the_top_newest_first_and_is_put_away_without_script()
    {
        await using var host = new ShelfHost { Clock = new(new DateTimeOffset(2026, 7, 1, 23, 30, 0, TimeSpan.Zero)) };
        var maker = await host.MakerAsync();
        Assert.Empty((await maker.PageAsync("/workbench")).QuerySelectorAll("article, nav .must-fix"));
        await RaiseAsync(host, AlertKind.JobFailed, "DigestJob(1)", "The <archive> broke.");
        host.Clock!.Advance(TimeSpan.FromMinutes(1));
        await RaiseAsync(host, AlertKind.DiskNearlyFull, "", "Full soon.");

        var page = await maker.PageAsync("/workbench");
        var section = page.QuerySelector("main section")!;
        Assert.Equal("To look at", page.GetElementById(section.GetAttribute("aria-labelledby")!)!.Words());
        var (disk, job) = (section.QuerySelectorAll("article")[0], section.QuerySelectorAll("article")[1]);
        Assert.StartsWith("The disk is nearly full Full soon.", disk.Words(), StringComparison.Ordinal);
        Assert.Null(disk.QuerySelector("button"));
        // 23:30 UTC on 1 July is 00:30 on 2 July in the shop's zone, Europe/Lisbon (summer time, UTC+1).
        Assert.StartsWith("Something was not done The <archive> broke. Since 2 July 2026 at 00:30.", job.Words(), StringComparison.Ordinal);
        var elsewhere = await maker.PageAsync("/workbench/members");
        Assert.Equal("(2 to look at)", elsewhere.QuerySelector("nav .must-fix")!.Words());

        page = await maker.PressAndFollowAsync(page, job.QuerySelector("button")!.Words());
        Assert.Contains("It is put away.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Single(page.QuerySelectorAll("article"));
    }

    [Fact]
    public async Task What_people_told_of_a_library_stands_beside_it_until_it_is_settled()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await host.WithDbAsync(async db =>
        {
            foreach (var title in new[] { "Tin Bells", "Kettle" })
                await db.AddBoxAsync(title, Audience.Free, "struck", "1.0.0");
            var bells = await db.Releases.SingleAsync(r => r.Library.Title == "Tin Bells");
            foreach (var (words, isSettled) in new[] { ("It buzzes.", false), ("It is cut.", false), ("It was loud.", true) })
                db.FaultReports.Add(new FaultReport { LibraryId = bells.LibraryId, ReleaseId = bells.Id, Words = words, ReportedAt = ShelfRows.FirstDay, SettledAt = isSettled ? ShelfRows.FirstDay : null });
            await db.SaveChangesAsync();
        });
        Assert.Equal(["2 things people told you of → /workbench/libraries/tin-bells/faults"], await SaidAsync());
        await host.WithDbAsync(db => db.FaultReports.Where(f => f.Words == "It is cut.").ExecuteUpdateAsync(f => f.SetProperty(x => x.SettledAt, ShelfRows.FirstDay)));
        Assert.Equal(["1 thing people told you of → /workbench/libraries/tin-bells/faults"], await SaidAsync());

        async Task<string[]> SaidAsync() => [.. (await maker.PageAsync("/workbench")).QuerySelectorAll("main table a")
            .Where(a => a.GetAttribute("href")!.EndsWith("/faults", StringComparison.Ordinal)).Select(a => $"{a.Words()} → {a.GetAttribute("href")}")];
    }

    [Fact]
    public async Task A_case_that_came_back_since_the_page_was_opened_stays_and_a_bare_post_does_nothing()
    {
        await using var host = new ShelfHost { Clock = new(new DateTimeOffset(2026, 7, 1, 23, 30, 0, TimeSpan.Zero)) };
        var maker = await host.MakerAsync();
        await RaiseAsync(host, AlertKind.JobFailed, "a", "w");
        var page = await maker.PageAsync("/workbench");
        var button = page.QuerySelector("article button")!.Words();
        using var bare = new FormUrlEncodedContent([new("alert", "1"), new("raised", page.QuerySelector("[name=raised]")!.GetAttribute("value")!)]);
        using var refused = await maker.PostAsync(new Uri("/workbench?handler=PutAway", UriKind.Relative), bare);
        Assert.Equal(System.Net.HttpStatusCode.BadRequest, refused.StatusCode);
        await host.RunAsync((SettleAlert settle) => settle.RunAsync(AlertKind.JobFailed, "a", CancellationToken.None));
        host.Clock!.Advance(TimeSpan.FromMinutes(1));
        await RaiseAsync(host, AlertKind.JobFailed, "a", "w");
        page = await maker.PressAndFollowAsync(page, button);
        Assert.Contains("has come back since", page.Body!.Words(), StringComparison.Ordinal);
        Assert.True(await host.AskDbAsync<bool>(db => db.Alerts.AnyAsync(a => a.SettledAt == null)));
    }

    private static Task RaiseAsync(ShelfHost host, AlertKind kind, string subject, string words) =>
        host.RunAsync((RaiseAlert raise) => raise.RunAsync(kind, subject, words, CancellationToken.None));
}
