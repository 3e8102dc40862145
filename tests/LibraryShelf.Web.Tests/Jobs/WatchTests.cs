using Hangfire;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Jobs;

public sealed class WatchTests
{
    [Fact]
    public async Task A_disk_nearly_full_reaches_the_maker_by_mail_and_goes_when_there_is_room()
    {
        var disk = new SetRoom { Free = 1 };
        await using var host = new ShelfHost { RunJobs = true, Replace = services => services.AddSingleton<IDiskRoom>(disk) };
        await host.ClaimAsync();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true);
        var recurring = host.Services.GetRequiredService<IRecurringJobManager>();
        recurring.Trigger("watch");
        await UntilAsync(() => host.AskDbAsync<bool>(db => db.Outbox.AnyAsync(m => m.SentAt != null)));
        var mail = await host.AskDbAsync<OutboxMail>(db => db.Outbox.SingleAsync());
        Assert.Equal((ShelfHost.MakerEmail, "Saltmarsh Sound Room: the disk is nearly full"), (mail.To, mail.Subject));

        disk.Free = 99_000_000_000;
        recurring.Trigger("watch");
        await UntilAsync(() => host.AskDbAsync<bool>(db => db.Alerts.AnyAsync(a => a.SettledAt != null)));
        var mails = await host.AskDbAsync<List<string>>(db => db.Outbox.Select(m => m.Subject + "\n" + m.Text).ToListAsync());
        Assert.True(mails.Count == 1, "More was mailed than the one about the disk:\n" + string.Join("\n---\n", mails));
    }

    [Fact]
    public async Task A_mail_given_up_is_shown_to_the_maker_and_mailed_to_her()
    {
        await using var host = new ShelfHost
        {
            RunJobs = true,
            Settings = { ["Shelf:Disk:NearlyFullBytes"] = "0" },
            Replace = services => services.AddSingleton<IMailer>(new RefusingMailer()),
        };
        var maker = await host.MakerAsync();
        await host.WithDbAsync(async db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = "welcome:1", To = "wren@post.example", Subject = "You are a member" });
            await db.SaveChangesAsync();
        });
        host.Services.GetRequiredService<Web.Jobs.JobChain>().MailSoon();
        await UntilAsync(() => host.AskDbAsync<bool>(db => db.Alerts.AnyAsync(a => a.Kind == AlertKind.MailNotSent && a.Subject == "")));
        var page = await maker.PageAsync("/workbench");
        var notice = Assert.Single(page.QuerySelectorAll("article.notice"), n => n.Words().Contains("to wren@post.example", StringComparison.Ordinal));
        Assert.Contains("“You are a member”, to wren@post.example. What was said: 550 no such box", notice.Words(), StringComparison.Ordinal);
        Assert.Equal("/workbench/outbox", notice.QuerySelector("a")!.GetAttribute("href"));
        host.Services.GetRequiredService<IRecurringJobManager>().Trigger("watch");
        await UntilAsync(() => host.AskDbAsync<bool>(db => db.Outbox.AnyAsync(m => m.Cause.StartsWith("alert:") && m.To == ShelfHost.MakerEmail)));
        await maker.PressAndFollowAsync(page, Button(page));
    }

    [Fact]
    public async Task Pieces_that_found_no_room_to_be_written_down_are_told_of()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var queue = host.Services.GetRequiredService<EventQueue>();
        // Faster than any database takes them.
        while (queue.TryAdd("nobody", 0, 1)) { }
        await UntilAsync(() => host.AskDbAsync<bool>(db => db.Alerts.AnyAsync(a => a.Kind == AlertKind.DownloadsUncounted)));
        var notice = Assert.Single((await maker.PageAsync("/workbench")).QuerySelectorAll("article.notice"));
        Assert.Contains("Some downloads were not counted", notice.Words(), StringComparison.OrdinalIgnoreCase);
        Assert.Contains("1 piece of a download was handed over and not counted: the database stood still for too long. No download was stopped", notice.Words(), StringComparison.Ordinal);
    }

    private static string Button(AngleSharp.Dom.IDocument page) => page.QuerySelector("article.notice button")!.Words();

    private static async Task UntilAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (!await isTrue())
            await Task.Delay(50, patience.Token);
    }

    private sealed class SetRoom : IDiskRoom
    {
        public long Free { get; set; }

        public DiskRoom? Of(string folder) => new(100_000_000_000, Free);
    }

    private sealed class RefusingMailer : IMailer
    {
        public Task SendAsync(MailToSend mail, CancellationToken cancellationToken) => mail.To == "wren@post.example"
            ? Task.FromException(new MailRefusedException("550 no such box", isPermanent: true))
            : Task.CompletedTask;
    }
}
