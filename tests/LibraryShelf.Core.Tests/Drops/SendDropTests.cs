using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

public sealed class SendDropTests
{
    [Fact]
    public async Task At_its_hour_its_versions_come_out_and_each_member_has_one_mail_in_the_outbox()
    {
        await using var bench = await MakeAsync();
        var (kettle, marimba) = (await bench.NewAsync("Mended Kettle"), await bench.NewAsync("Jam-jar Marimba", ReleaseState.Sealed));
        var (wren, robin) = (await bench.MemberAsync("wren@post.example"), await bench.MemberAsync("robin@post.example", TimeSpan.FromDays(3)));
        await bench.MemberAsync("wren@post.example"); // two memberships are one member
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(6), kettle, marimba);
        Assert.IsType<SendDropOutcome.NotNow>(await bench.SendAsync(drop));
        Assert.Empty(await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));

        bench.Shelf.Clock.Advance(TimeSpan.FromDays(2));
        Assert.Equal(MayDownloadWhy.NotOnTheShelf, await bench.RightsAsync(kettle, wren));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(4));
        Assert.Equal([drop], await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        var sent = await bench.SentAsync(drop);
        Assert.Equal((kettle, marimba), (sent.Published.Min(), sent.Published.Max()));
        Assert.Equal(1, sent.Mails);

        foreach (var id in new[] { kettle, marimba })
        {
            var release = await bench.ReadReleaseAsync(id);
            Assert.Equal((ReleaseState.Published, bench.Now, bench.Now, "https://shelf.example"), (release.State, release.PublishedAt, release.TellAskedAt, release.TellPlace));
            Assert.Equal((December, Audience.Members, ""), (release.Library.Month, release.Library.AudienceAt(bench.Now), release.DropMonths));
        }
        var row = await bench.ReadAsync(drop);
        Assert.Equal((DropState.Sent, bench.Now, null), (row.State, row.SentAt, row.Trouble));
        var mail = Assert.Single(await bench.MailsAsync()); // Robin's membership ended before
        Assert.Equal(($"drop:{drop}:{wren}", wren, drop, "", "", "", bench.Now, bench.Now, 0),
            (mail.Cause, mail.PersonId, mail.AboutId, mail.To, mail.Subject, mail.Text, mail.CreatedAt, mail.NextTryAt, mail.Attempts));
        Assert.Equal(MailKind.Drop, MailKinds.Of(mail.Cause));
        Assert.Equal((MayDownloadWhy.Member, MayDownloadWhy.MembersOnly), (await bench.RightsAsync(kettle, wren), await bench.RightsAsync(kettle, robin)));

        Assert.IsType<SendDropOutcome.NotNow>(await bench.SendAsync(drop));
        Assert.Empty(await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        Assert.Single(await bench.MailsAsync());
    }

    [Fact]
    public async Task Only_members_who_can_be_written_to_and_want_such_mails_are()
    {
        await using var bench = await MakeAsync();
        var people = new Dictionary<string, long>();
        foreach (var name in new[] { "wren", "refused", "other", "maker", "merged", "deleted", "later", "paid" })
            people[name] = await bench.MemberAsync($"{name}@post.example");
        await bench.WithAsync(async db =>
        {
            db.MailRefusals.Add(new MailRefusal { PersonId = people["refused"], Kind = MailKind.Drop, At = bench.Now });
            db.MailRefusals.Add(new MailRefusal { PersonId = people["other"], Kind = MailKind.Welcome, At = bench.Now });
            await db.Users.Where(p => p.Id == people["maker"]).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true));
            await db.Users.Where(p => p.Id == people["merged"]).ExecuteUpdateAsync(s => s.SetProperty(p => p.MergedIntoId, people["wren"]));
            await db.Users.Where(p => p.Id == people["deleted"]).ExecuteUpdateAsync(s => s
                .SetProperty(p => p.DeletedAt, bench.Now).SetProperty(p => p.Email, (string?)null).SetProperty(p => p.NormalizedEmail, (string?)null));
            await db.MembershipGrants.Where(g => g.PersonId == people["later"]).ExecuteUpdateAsync(s => s.SetProperty(g => g.From, bench.Now.AddMilliseconds(1)));
            await db.MembershipGrants.Where(g => g.PersonId == people["paid"]).ExecuteDeleteAsync();
            db.PaidMemberships.Add(new PaidMembership { PersonId = people["paid"], ProviderId = "sub_1", StartedAt = bench.Now, ActiveUntil = bench.Now.AddMilliseconds(1) });
            return await db.SaveChangesAsync();
        });
        Assert.Equal(3, (await bench.SentAsync(await bench.DropAsync(December, default, await bench.NewAsync("Mended Kettle")))).Mails);
        Assert.Equal([people["wren"], people["other"], people["paid"]], (await bench.MailsAsync()).Select(m => m.PersonId!.Value));
    }

    [Theory]
    [InlineData("empty", "December has no library.")]
    [InlineData("draft", "Jam-jar Marimba 1.0.0 is not sealed.")]
    [InlineData("withdrawn", "Jam-jar Marimba 1.0.0 was withdrawn.")]
    [InlineData("undeclared", "not declared yours to give")]
    [InlineData("damaged", "can’t be read through")]
    public async Task What_is_not_whole_waits_says_why_and_asks_once_it_is(string lack, string words)
    {
        await using var bench = await MakeAsync();
        var kettle = await bench.NewAsync("Mended Kettle");
        var marimba = await bench.NewAsync("Jam-jar Marimba", lack switch { "draft" => ReleaseState.Checked, "withdrawn" => ReleaseState.Published, _ => ReleaseState.Scheduled });
        await bench.MemberAsync("wren@post.example");
        var drop = await bench.DropAsync(December, default, lack == "empty" ? [] : [kettle, marimba]);
        await LackAsync(bench, lack, marimba);
        var first = Assert.IsType<SendDropOutcome.NotWhole>(await bench.SendAsync(drop)).Words;
        Assert.Contains(words, first, StringComparison.Ordinal);
        var row = await bench.ReadAsync(drop);
        Assert.Equal((DropState.Planned, first, bench.Now), (row.State, row.Trouble, row.AsksSince));
        Assert.Equal(ReleaseState.Scheduled, (await bench.ReadReleaseAsync(kettle)).State); // nobody sees half a drop
        Assert.Empty(await bench.MailsAsync());

        bench.Shelf.Clock.Advance(TimeSpan.FromDays(3));
        await MendAsync(bench, drop, kettle, marimba);
        Assert.Equal([drop], await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        var asks = Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(drop)).Words;
        row = await bench.ReadAsync(drop);
        Assert.Equal((DropState.Planned, asks, bench.Now), (row.State, row.Trouble, row.AsksSince)); // ready since it was found whole
        Assert.Equal(ReleaseState.Scheduled, (await bench.ReadReleaseAsync(kettle)).State);
        Assert.Empty(await bench.MailsAsync());

        // Asked again later it says the same, and since when.
        bench.Shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(drop));
        Assert.Equal(row.AsksSince, (await bench.ReadAsync(drop)).AsksSince);

        Assert.Equal(new DropOutcome.Done(null), await bench.WithAsync(db => new LetDropGo(db, bench.Shelf.Clock).RunAsync(December, row.Revision, default)));
        bench.Shelf.Clock.Advance(PlanDrop.AtOnceIn);
        await bench.SentAsync(drop);
        row = await bench.ReadAsync(drop);
        Assert.Equal((DropState.Sent, null, null), (row.State, row.Trouble, row.AsksSince));
        Assert.Single(await bench.MailsAsync());
    }

    [Fact]
    public async Task One_moved_after_its_trouble_has_none_any_more_and_is_not_woken_again()
    {
        await using var bench = await MakeAsync();
        var drop = await bench.DropAsync(December, default);
        Assert.IsType<SendDropOutcome.NotWhole>(await bench.SendAsync(drop));
        await bench.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, bench.Now.AddDays(1))));
        Assert.Equal([drop], await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        Assert.IsType<SendDropOutcome.NotNow>(await bench.SendAsync(drop));
        Assert.Null((await bench.ReadAsync(drop)).Trouble);
        Assert.Empty(await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
    }

    [Fact]
    public async Task A_restored_shelf_holds_it()
    {
        await using var bench = await MakeAsync();
        var drop = await bench.DropAsync(December, default, await bench.NewAsync("Mended Kettle"));
        await bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, bench.Now)));
        Assert.Empty(await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        Assert.IsType<SendDropOutcome.Held>(await bench.SendAsync(drop));
        await bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null)));
        await bench.SentAsync(drop);
    }

    [Fact]
    public async Task Two_servers_at_once_send_it_once()
    {
        await using var bench = await MakeAsync();
        for (var n = 0; n < 20; n++)
            await bench.MemberAsync($"wren{n}@post.example");
        var drop = await bench.DropAsync(December, default, await bench.NewAsync("Mended Kettle"));
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => Task.Run(() => bench.SendAsync(drop))));
        Assert.Single(outcomes.OfType<SendDropOutcome.Sent>());
        Assert.Equal(5, outcomes.OfType<SendDropOutcome.NotNow>().Count());
        Assert.Equal(20, (await bench.MailsAsync()).Count);
    }

    [Fact]
    public async Task The_mails_can_be_spread_over_hours_evenly_and_nobody_is_always_last()
    {
        await using var bench = await MakeAsync();
        bench.Settings.Mail.SpreadHours = 8;
        for (var n = 0; n < 40; n++)
            await bench.MemberAsync($"wren{n}@post.example");
        var last = new List<long>();
        foreach (var month in new[] { December, December.PlusMonths(1) })
        {
            await bench.WithAsync(db => db.Outbox.ExecuteDeleteAsync());
            await bench.SentAsync(await bench.DropAsync(month, default, await bench.NewAsync($"Kettle {month.Month}")));
            var mails = await bench.MailsAsync();
            for (var hours = 0; hours < 8; hours += 2)
                Assert.InRange(mails.Count(m => m.NextTryAt >= bench.Now.AddHours(hours) && m.NextTryAt < bench.Now.AddHours(hours + 2)), 8, 12);
            last.Add(mails.MaxBy(m => m.NextTryAt)!.PersonId!.Value);
        }
        Assert.NotEqual(last[0], last[1]);
    }

    private static Task<int> LackAsync(DropBench bench, string lack, long marimba) => bench.WithAsync(async db =>
    {
        var release = await db.Releases.Include(r => r.Library).SingleAsync(r => r.Id == marimba);
        if (lack == "withdrawn") release.MoveTo(ReleaseState.Withdrawn, bench.Now);
        if (lack == "undeclared") release.Library.DeclaredAt = null;
        if (lack == "damaged") db.Archives.Add(new() { ReleaseId = marimba, Trouble = "a stored file is gone.", CreatedAt = bench.Now });
        return await db.SaveChangesAsync();
    });

    private static Task<int> MendAsync(DropBench bench, long drop, long kettle, long marimba) => bench.WithAsync(async db =>
    {
        var release = await db.Releases.Include(r => r.Library).SingleAsync(r => r.Id == marimba);
        release.MoveTo(ReleaseState.Sealed, bench.Now);
        release.Library.DeclaredAt = bench.Now;
        await db.Archives.ExecuteDeleteAsync();
        if (release.State == ReleaseState.Withdrawn) await db.DropReleases.Where(r => r.ReleaseId == marimba).ExecuteDeleteAsync();
        if (!await db.DropReleases.AnyAsync()) db.DropReleases.Add(new DropRelease { DropId = drop, ReleaseId = kettle });
        return await db.SaveChangesAsync();
    });
}
