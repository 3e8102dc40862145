using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>Mails to many say how many have gone, are stopped by a button and sent on by another, without script.</summary>
public sealed class MailRunTests
{
    private static readonly DateTimeOffset Today = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task A_drops_letters_are_stopped_and_sent_on_and_the_drop_stays_out()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        var drop = new Drop { Month = new YearMonth(2026, 11), Title = "Salt", State = DropState.Sent, SentAt = Today, DueAt = Today };
        await host.WithDbAsync(async db =>
        {
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            // Three have gone, one was left out; five wait for their turn.
            for (var i = 1; i <= 9; i++)
                db.Outbox.Add(new OutboxMail
                {
                    Cause = $"drop:{drop.Id}:{i}", AboutId = drop.Id, CreatedAt = Today, SentAt = i <= 3 ? Today : null, GaveUpAt = i == 4 ? Today : null, NextTryAt = i > 4 ? Today.AddHours(1) : null,
                });
            await db.SaveChangesAsync();
        });
        var page = await maker.PageAsync("/workbench/drops/2026-11");
        // Said once.
        Assert.DoesNotContain("Letters", page.QuerySelectorAll("main dt").Select(t => t.Words()));
        Assert.Equal("3 of 9 mails have gone. 1 was left out, not wanted or not needed any more when its turn came. You may close this page.", page.QuerySelector("[data-far=mails-drop]")!.Words());
        Assert.Equal(("4", "9"), (page.QuerySelector("progress")!.GetAttribute("value"), page.QuerySelector("progress")!.GetAttribute("max")));
        Assert.Contains("See how far it is now", page.QuerySelector("main noscript")!.InnerHtml, StringComparison.Ordinal);
        Assert.Equal("/workbench/drops/2026-11", page.QuerySelector("[data-far] + [data-far-over][hidden] a")!.GetAttribute("href"));
        Assert.NotNull(page.QuerySelector("[data-far-over] + [data-far-spoken]"));
        // Words may be typed there: it must not be opened anew under them.
        Assert.DoesNotContain("refresh", page.QuerySelector("head")!.InnerHtml, StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Stop the 5 that wait");
        Assert.StartsWith("You stopped them on 25 November 2026 at ", page.QuerySelector("#mails-drop p")!.Words(), StringComparison.Ordinal);
        Assert.Contains("3 of 9 mails have gone. 1 was left out, not wanted or not needed any more when its turn came. 5 wait here until you send them. What has gone can’t be called back, and what it is about stays as it is.", page.QuerySelector("#mails-drop")!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("[data-far]"));
        Assert.Equal(DropState.Sent, await host.AskDbAsync(db => db.Drops.Select(d => d.State).SingleAsync()));
        Assert.Contains("You stopped the letters of the drop of November 2026. 5 wait here", (await maker.PageAsync("/workbench")).Body!.Words(), StringComparison.Ordinal);
        var outbox = await maker.PageAsync("/workbench/outbox");
        Assert.DoesNotContain("mails wait to be sent", outbox.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal("The letters of the drop of November 2026", outbox.QuerySelector("#stopped + h3")!.Words());
        Assert.Equal(5, outbox.QuerySelectorAll("td").Count(cell => cell.Words() == "stopped by you, waits here until you send it"));

        var late = await maker.PageAsync("/workbench/drops/2026-11");
        page = await maker.PressAndFollowAsync(outbox, "Send the other 5");
        Assert.Contains("The 5 mails that waited go out now, one after the other.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Null(page.GetElementById("stopped"));
        Assert.Empty(await host.AskDbAsync(db => db.MailHolds.ToListAsync()));
        // Pressed in another window before.
        Assert.Contains("They were not stopped any more", (await maker.PressAndFollowAsync(late, "Send the other 5")).Body!.Words(), StringComparison.Ordinal);

        var before = await maker.PageAsync("/workbench/drops/2026-11");
        await host.WithDbAsync(db => db.Outbox.ExecuteUpdateAsync(s => s.SetProperty(m => m.SentAt, m => m.GaveUpAt == null ? Today : null)));
        page = await maker.PressAndFollowAsync(before, "Stop the 5 that wait");
        Assert.Contains("There was nothing to stop any more. 8 mails were sent. 1 was left out", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Empty(await host.AskDbAsync(db => db.MailHolds.ToListAsync()));
    }

    [Fact]
    public async Task A_versions_mails_and_a_letters_say_so_on_their_pages()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await host.WithDbAsync(db => db.AddBoxAsync("Tin Roof", Audience.Free, "struck", "1.0.0"));
        var (slug, id) = ("tin-roof", await host.AskDbAsync(db => db.Releases.Select(r => r.Id).SingleAsync()));
        var seal = $"/workbench/releases/{id}/seal";
        Assert.StartsWith("Its mails are being written.", (await maker.PageAsync(seal)).QuerySelector("[data-far=mails-version]")!.Words(), StringComparison.Ordinal);
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.TellAskedAt, (DateTimeOffset?)null)));
        Assert.Null((await maker.PageAsync(seal)).QuerySelector("[data-far=mails-version]"));
        await host.WithDbAsync(db =>
        {
            db.Outbox.AddRange(new OutboxMail { Cause = $"version:{id}:1", AboutId = id, SentAt = Today }, new OutboxMail { Cause = $"follow:{id}:1", AboutId = id }, new OutboxMail { Cause = $"behind:{id}:1", AboutId = id });
            db.BehindLetters.Add(new BehindLetter { ReleaseId = id, Written = 1, AskedAt = Today, DoneAt = Today });
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync(seal);
        Assert.StartsWith("1 of 2 mails has gone.", page.QuerySelector("[data-far=mails-version]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Stop the one that waits");
        Assert.Contains("1 waits here until you send it.", page.QuerySelector("#mails-version")!.Words(), StringComparison.Ordinal);

        page = await maker.PageAsync($"/workbench/numbers/versions/{slug}/letter");
        Assert.StartsWith("The one mail has not gone.", page.QuerySelector("[data-far=mails-letter]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Stop the one that waits");
        Assert.NotNull(page.QuerySelector("#mails-letter"));

        // While all is stopped nothing is due, so the sweep wakes nobody for it.
        await host.RunAsync(async (IServiceProvider services) =>
        {
            await ActivatorUtilities.CreateInstance<MailJob>(services).RunAsync(CancellationToken.None);
            return true;
        });
        Assert.Equal(2, await host.AskDbAsync(db => db.Outbox.CountAsync(m => m.SentAt == null && m.GaveUpAt == null)));
        Assert.Equal(2, (await maker.PageAsync("/workbench/outbox")).QuerySelectorAll("#stopped ~ h3").Length);
    }

    [Fact]
    public async Task Mails_about_another_price_say_how_far_they_are_and_can_not_be_stopped()
    {
        await using var host = new ShelfHost { Clock = new(Today) };
        var maker = await host.MakerAsync();
        await host.WithDbAsync(async db =>
        {
            var (from, to) = (new Plan { Minor = 900, CreatedAt = Today, ClosedAt = Today }, new Plan { Minor = 1100, CreatedAt = Today });
            db.Plans.AddRange(from, to);
            await db.SaveChangesAsync();
            var change = new PriceChange { FromPlanId = from.Id, ToPlanId = to.Id, From = Today.AddDays(60), AnnouncedAt = Today, ToldAllAt = Today, Reason = "Reeds cost more." };
            var over = new PriceChange { FromPlanId = from.Id, ToPlanId = to.Id, From = Today.AddDays(-60), AnnouncedAt = Today.AddDays(-99), ToldAllAt = Today.AddDays(-99), Reason = "Glue." };
            db.PriceChanges.AddRange(change, over);
            await db.SaveChangesAsync();
            for (var i = 1; i <= 4; i++)
                db.Outbox.Add(new OutboxMail { Cause = $"price:{change.Id}:{i}", To = "x@post.example", Subject = "S", Text = "T", CreatedAt = Today, SentAt = i == 1 ? Today : null, NextTryAt = i == 1 ? null : Today.AddHours(1) });
            db.Outbox.Add(new OutboxMail { Cause = $"price:{over.Id}:1", To = "x@post.example", CreatedAt = Today, SentAt = Today });
            await db.SaveChangesAsync();
        });
        var page = await maker.PageAsync("/workbench/membership/prices");
        Assert.Equal("1 of 4 mails has gone. They can’t be stopped: whom they concern has to get them. You may close this page.", Assert.Single(page.QuerySelectorAll("[data-far]")).Words());
        Assert.Contains("Members are told: €9.00 a month becomes €11.00 a month", page.QuerySelectorAll("h2").Select(h => h.Words()));
        Assert.DoesNotContain("Stop", string.Join(' ', page.QuerySelectorAll("main button").Select(b => b.Words())), StringComparison.Ordinal);

        var proof = (await maker.PageAsync("/workbench/jobs")).QuerySelector("main input[name=__RequestVerificationToken]")!.GetAttribute("value")!;
        using var form = new FormUrlEncodedContent([new("__RequestVerificationToken", proof), new("kind", "Price"), new("about", "1"), new("back", "/workbench/membership/prices")]);
        using var answer = await maker.PostAsync(new Uri("/workbench/outbox?handler=Stop", UriKind.Relative), form);
        Assert.Contains("They can’t be stopped", (await maker.PageAsync("/workbench/outbox")).Body!.Words(), StringComparison.Ordinal);
        Assert.Empty(await host.AskDbAsync(db => db.MailHolds.ToListAsync()));
    }
}
