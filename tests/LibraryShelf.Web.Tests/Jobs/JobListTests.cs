using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Jobs;

public sealed class JobListTests
{
    [Fact]
    public void Every_job_class_is_listed_once_and_the_backup_says_when_it_is_off()
    {
        var classes = typeof(JobList).Assembly.GetTypes().Where(t => t.Namespace == typeof(JobList).Namespace && t.Name.EndsWith("Job", StringComparison.Ordinal) && t != typeof(ListedJob) && t.GetMethod("RunAsync") is not null);
        var listed = JobList.All(new ShelfSettings());
        Assert.Equal(classes.Select(t => t.Name).Order(StringComparer.Ordinal), listed.Select(j => j.Name).Order(StringComparer.Ordinal));
        Assert.Equal(listed.Count, listed.Select(j => j.Title).Distinct(StringComparer.Ordinal).Count());
        Assert.Contains("Shelf:Backup:Directory", listed.Single(j => j.Type == typeof(BackupJob)).When, StringComparison.Ordinal);
        Assert.All(listed.Where(j => j.Recurs is not null), j => Assert.True(j.CanRunNow));
        var on = JobList.All(new ShelfSettings { Backup = { Directory = "/backup", Hour = 5 } }).Single(j => j.Type == typeof(BackupJob));
        Assert.Equal("0 5 * * *", on.Recurs!.Cron);
    }

    [Fact]
    public async Task The_maker_runs_a_job_now_and_reads_how_it_went()
    {
        await using var host = new ShelfHost { RunJobs = true, Settings = { ["Shelf:Disk:NearlyFullBytes"] = "0", ["Shelf:Backup:Directory"] = "/nowhere/to/be/found" } };
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench/jobs");
        Assert.Contains("03:00 UTC", Row(page, "Backup").Words(), StringComparison.Ordinal);
        await maker.PressAndFollowAsync(page, "Run now: Backup");
        await maker.PressAndFollowAsync(page, "Run now: Clear up");
        // Each is noted by the queue's own filter once it ended.
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (await host.AskDbAsync<int>(db => db.JobRuns.CountAsync(r => (r.Name == "BackupJob" || r.Name == "CollectJob") && r.EndedAt != null)) < 2)
            await Task.Delay(50, patience.Token);
        page = await maker.PageAsync("/workbench/jobs");
        Assert.Contains("went well", Row(page, "Clear up").Words(), StringComparison.Ordinal);
        var backup = Row(page, "Backup").Words();
        Assert.Contains("did not do its work", backup, StringComparison.Ordinal);
        Assert.Contains("/nowhere/to/be/found, is not there", backup, StringComparison.Ordinal);
        Assert.Contains("Run now", backup, StringComparison.Ordinal);
        Assert.DoesNotContain("Run now", Row(page, "Check").Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_backup_says_how_far_it_is_and_is_stopped_by_a_button()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:Backup:Directory"] = "/nowhere/to/be/found" } };
        var maker = await host.MakerAsync();
        Assert.Null((await maker.PageAsync("/workbench/jobs")).QuerySelector("[data-far]"));
        await host.WithDbAsync(db =>
        {
            db.JobRuns.Add(new JobRun { Name = "BackupJob", StartedAt = DateTimeOffset.UnixEpoch });
            db.WorkProgress.Add(new WorkProgress { Name = "backup", DoneBytes = 1_500_000_000, TotalBytes = 3_000_000_000 });
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync("/workbench/jobs");
        Assert.Equal("A backup is being made: 1.5 GB of 3.0 GB copied or read again. You may close this page; it goes on without it.", page.QuerySelector("[data-far=backup]")!.Words());
        Assert.Contains("refresh", page.QuerySelector("head noscript")!.InnerHtml, StringComparison.Ordinal);
        // No job runs here: what is asked for waits, and says so.
        await maker.PressAndFollowAsync(page, "Run now: Clear up");
        Assert.Contains("waits for its turn", Row(await maker.PageAsync("/workbench/jobs"), "Clear up").Words(), StringComparison.Ordinal);
        var stopped = await maker.PressAndFollowAsync(page, "Stop the backup");
        Assert.Contains("The backup is stopped. Earlier ones are kept", stopped.Body!.Words(), StringComparison.Ordinal);
        // It may write its last bytes still: no bar says that it goes on, and no button that it can be stopped.
        Assert.Null(stopped.QuerySelector("[data-far], progress"));
        Assert.Contains("is being stopped, as you asked on ", Row(stopped, "Backup").Words(), StringComparison.Ordinal);

        // Ended, its row says so; pressed in another window, there is nothing to stop.
        await host.WithDbAsync(async db =>
        {
            await db.JobRuns.ExecuteUpdateAsync(s => s.SetProperty(r => r.EndedAt, DateTimeOffset.UnixEpoch.AddHours(1)));
            await db.WorkProgress.ExecuteDeleteAsync();
        });
        Assert.Contains("stopped by you, ", Row(await maker.PageAsync("/workbench/jobs"), "Backup").Words(), StringComparison.Ordinal);
        Assert.Contains("No backup was being made any more", (await maker.PressAndFollowAsync(page, "Stop the backup")).Body!.Words(), StringComparison.Ordinal);
        // A later run that went well is no stopped one.
        await host.WithDbAsync(db => db.JobRuns.ExecuteUpdateAsync(s => s.SetProperty(r => r.StartedAt, DateTimeOffset.MaxValue.AddDays(-2)).SetProperty(r => r.EndedAt, DateTimeOffset.MaxValue.AddDays(-1))));
        Assert.Contains("went well", Row(await maker.PageAsync("/workbench/jobs"), "Backup").Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_archive_that_is_read_through_says_how_far_it_is_and_is_stopped_and_begun_again_by_a_button()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.WithDbAsync(db =>
        {
            // Of a version that is on no page of its own: an update, and a month.
            db.Archives.Add(new Archive { ReleaseId = id, FromReleaseId = 7, Kind = ArchiveKind.Update, FileName = "Kettle 1.0.0 to 1.1.0.zip" });
            db.Archives.Add(new Archive { ReleaseId = id, DropId = 7, Kind = ArchiveKind.Drop, FileName = "November.zip" });
            db.WorkProgress.Add(new WorkProgress { Name = "digest:1", DoneBytes = 1_500_000_000, TotalBytes = 3_000_000_000 });
            db.WorkProgress.Add(new WorkProgress { Name = "digest:2", TotalBytes = 3_000_000_000 });
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync("/workbench/jobs");
        Assert.StartsWith("Kettle 1.0.0 to 1.1.0.zip is being read through for its checksum: 1.5 GB of 3.0 GB.", page.QuerySelector("[data-far=reading-1]")!.Words(), StringComparison.Ordinal);
        var stopped = await maker.PressAndFollowAsync(page, "Stop reading it through: Kettle 1.0.0 to 1.1.0.zip");
        Assert.Equal(["reading-2"], stopped.QuerySelectorAll("[data-far]").Select(f => f.GetAttribute("data-far")));
        Assert.Contains("You stopped the reading through of Kettle 1.0.0 to 1.1.0.zip on ", Assert.Single(stopped.QuerySelectorAll(".stopped[role=status]")).Words(), StringComparison.Ordinal);
        Assert.Contains("nothing was stopped", (await maker.PressAndFollowAsync(page, "Stop reading it through: Kettle 1.0.0 to 1.1.0.zip")).Body!.Words(), StringComparison.Ordinal);
        var again = await maker.PressAndFollowAsync(stopped, "Read it through: Kettle 1.0.0 to 1.1.0.zip");
        Assert.Contains("It is read through as soon as it is its turn.", again.Body!.Words(), StringComparison.Ordinal);
        Assert.Null(again.QuerySelector(".stopped"));
        Assert.Contains("nothing was changed", (await maker.PressAndFollowAsync(stopped, "Read it through: Kettle 1.0.0 to 1.1.0.zip")).Body!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_waits_is_counted_in_both_queues()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        host.Services.GetRequiredService<JobChain>().MailSoon();
        var monitor = host.Services.GetRequiredService<Hangfire.JobStorage>().GetMonitoringApi();
        var (now, work) = (monitor.EnqueuedCount("now"), monitor.EnqueuedCount("default"));
        Assert.True(now > 0 && work > 0);
        Assert.Contains(Web.Pages.Words.Plural.Opening((int)(now + work), "run"), (await maker.PageAsync("/workbench/jobs")).QuerySelector("main p.quiet")!.Words(), StringComparison.Ordinal);
    }

    private static AngleSharp.Dom.IElement Row(AngleSharp.Dom.IDocument page, string title) =>
        page.QuerySelectorAll("tbody tr").Single(r => r.QuerySelector("th")!.FirstChild!.TextContent.Trim() == title);
}
