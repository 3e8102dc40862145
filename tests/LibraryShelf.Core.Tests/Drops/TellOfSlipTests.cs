using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>A month slips: who is told, once, and what stays.</summary>
public sealed class TellOfSlipTests
{
    private static readonly YearMonth November = new(2026, 11);

    [Fact]
    public async Task Members_and_who_paid_for_the_month_are_told_once_and_nobody_else()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var now = shelf.Temp.Clock.GetUtcNow();
        var (member, left, stranger, refuses) = (await PersonAsync(shelf, "member"), await PersonAsync(shelf, "left"), await PersonAsync(shelf, "stranger"), await PersonAsync(shelf, "refuses"));
        await shelf.WithAsync(db =>
        {
            db.MembershipGrants.AddRange(new MembershipGrant { PersonId = member, From = now }, new MembershipGrant { PersonId = refuses, From = now });
            db.PaidMonths.AddRange(new PaidMonth { PersonId = left, Month = November, OpensAt = now }, new PaidMonth { PersonId = member, Month = November, OpensAt = now }, new PaidMonth { PersonId = stranger, Month = November.PlusMonths(-1), OpensAt = now });
            db.MailRefusals.Add(new MailRefusal { PersonId = refuses, Kind = MailKind.Drop });
            return db.SaveChangesAsync();
        });
        await shelf.PlanAsync(November, shelf.Form("2026-12-10"));
        await shelf.FillAsync(November, await shelf.ReleaseAsync("Mended Kettle", ReleaseState.Sealed));

        Assert.Equal(new TellOfSlipOutcome.Told(2), await TellAsync(shelf, 1));
        Assert.IsType<TellOfSlipOutcome.ChangedMeanwhile>(await TellAsync(shelf, 1));
        var mails = await shelf.WithAsync(db => db.Outbox.AsNoTracking().OrderBy(m => m.PersonId).ToListAsync());
        Assert.Equal([member, left], mails.Select(m => m.PersonId!.Value));
        var mail = mails[0];
        // It is composed when it is sent.
        Assert.Equal((MailKind.Drop, 1, "", $"slip:1:{member}:{now.ToUnixTimeMilliseconds()}"), (MailKinds.Of(mail.Cause), mail.AboutId, mail.Subject + mail.Text, mail.Cause));
        Assert.Equal((DropState.Planned, now, "The kiln broke."), ((await shelf.DropAsync(November)).State, (await shelf.DropAsync(November)).SlippedAt!.Value, (await shelf.DropAsync(November)).SlippedBecause));

        // Given to another month, what was told stays with this one, and the shelf goes on saying so.
        await shelf.WithAsync(async db => await new MoveDrop(db, shelf.Temp.Clock).RunAsync(November, November.PlusMonths(2), 2, default));
        var stays = await shelf.DropAsync(November);
        Assert.Equal((mail.AboutId, DropState.Cancelled, "The kiln broke.", ""), (stays.Id, stays.State, stays.SlippedBecause, stays.Title));
        var moved = await shelf.DropAsync(November.PlusMonths(2));
        Assert.Equal((DropState.Planned, null, "Kiln month"), (moved.State, moved.SlippedAt, moved.Title));
        Assert.Equal([moved.Id], await shelf.WithAsync(db => db.DropReleases.Select(r => r.DropId).ToListAsync()));
        var slipped = Assert.Single((await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default))).Slipped);
        Assert.Equal((November, "The kiln broke.", null), (slipped.Month, slipped.Because, slipped.DueAt));
    }

    [Fact]
    public async Task A_month_nobody_planned_slips_too_and_one_without_a_reason_does_not()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        Assert.IsType<TellOfSlipOutcome.NoReason>(await TellAsync(shelf, null, " "));
        Assert.Equal(new TellOfSlipOutcome.Told(0), await TellAsync(shelf, null));
        Assert.IsType<TellOfSlipOutcome.NotExpected>(await shelf.WithAsync(db => new TellOfSlip(db, shelf.Temp.Clock, Options.Create(new ShelfSettings())).RunAsync(November.PlusMonths(-13), "Late.", null, default)));
        var row = await shelf.DropAsync(November);
        var usual = await shelf.WithAsync(db => db.Shops.SingleAsync());
        Assert.Equal((DropState.Cancelled, new DropForm("", "", usual.DropDay, usual.DropTime, usual.TimeZone).DueIn(November)), (row.State, row.DueAt));
        // One of before, without an hour, is shown with the usual one.
        await shelf.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, default(DateTimeOffset))));
        Assert.Equal(row.DueAt, (await shelf.WithAsync(db => new ReadDrop(db, shelf.Temp.Clock).RunAsync(November, default))).Month.DueAt);
        Assert.IsType<DropOutcome.Done>(await shelf.PlanAsync(November, shelf.Form("2026-12-24"), revision: 0));
    }

    [Fact]
    public async Task This_months_drop_stands_before_a_late_one_and_every_month_that_slips_has_its_reason()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        // October is late for 27 November, September slips and has no day, November's own comes on the 29th.
        await shelf.PlanAsync(November.PlusMonths(-1), shelf.Form("2026-11-27"));
        await shelf.PlanAsync(November, shelf.Form("29"));
        await shelf.WithAsync(db => new TellOfSlip(db, shelf.Temp.Clock, Options.Create(new ShelfSettings())).RunAsync(November.PlusMonths(-2), "The kiln broke.", null, default));
        var news = await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal((November, November.PlusMonths(-1)), (news.Next!.Month, Assert.Single(news.Late).Month));

        Assert.IsType<TellOfSlipOutcome.Told>(await TellAsync(shelf, 0, "The glaze ran."));
        await shelf.WithAsync(db => new TellOfSlip(db, shelf.Temp.Clock, Options.Create(new ShelfSettings())).RunAsync(November.PlusMonths(-1), "The reeds froze.", 0, default));
        news = await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal([("The kiln broke.", null), ("The reeds froze.", 27), ("The glaze ran.", 29)], news.Slipped.Select(m => (m.Because, m.DueAt?.Day)));
        Assert.Empty(news.Late);

        // Out after this month's, the late one does not stand before it.
        await shelf.WithAsync(async db =>
        {
            var now = shelf.Temp.Clock.GetUtcNow();
            foreach (var drop in await db.Drops.Where(d => d.State == DropState.Planned).ToListAsync())
                (drop.State, drop.SentAt) = (DropState.Sent, drop.Month == November ? now.AddDays(-2) : now.AddDays(-1));
            return await db.SaveChangesAsync();
        });
        news = await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal((November, true), (news.Last!.Month, news.IsNow));
    }

    [Fact]
    public async Task It_ends_when_its_box_comes_out_by_hand_or_its_maker_says_so()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var member = await PersonAsync(shelf, "member");
        await shelf.WithAsync(db =>
        {
            db.MembershipGrants.Add(new MembershipGrant { PersonId = member, From = shelf.Temp.Clock.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        await shelf.PlanAsync(November, shelf.Form("29"));
        Assert.Equal(new TellOfSlipOutcome.Told(1), await TellAsync(shelf, 0));
        Assert.Equal(November, Assert.Single((await NewsAsync(shelf)).Slipped).Month);

        var release = await shelf.ReleaseAsync("Mended Kettle", ReleaseState.Published);
        await shelf.WithAsync(db => db.Libraries.Where(l => l.Releases.Any(r => r.Id == release)).ExecuteUpdateAsync(s => s.SetProperty(l => l.Month, November)));
        Assert.Empty((await NewsAsync(shelf)).Slipped);
        await shelf.WithAsync(db => db.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.Month, (YearMonth?)null)));
        Assert.Single((await NewsAsync(shelf)).Slipped);

        Assert.IsType<DropOutcome.ChangedMeanwhile>(await EndAsync(shelf, 0));
        Assert.Equal(new DropOutcome.Done(null), await EndAsync(shelf, 1));
        Assert.Equal(new DropOutcome.Done(null), await EndAsync(shelf, 1)); // nothing to end
        Assert.Empty((await NewsAsync(shelf)).Slipped);
        var drop = await shelf.DropAsync(November);
        Assert.Equal((DropState.Planned, null, ""), (drop.State, drop.SlippedAt, drop.SlippedBecause));
        var mail = await shelf.WithAsync(db => db.Outbox.AsNoTracking().SingleAsync());
        Assert.Contains("not said to slip any more", Assert.IsType<Core.Letters.LetterOutcome.NotNeeded>(
            await shelf.WithAsync(db => new Core.Letters.WriteLetter(db, shelf.Temp.Clock, Options.Create(new ShelfSettings())).RunAsync(mail, default))).Why, StringComparison.Ordinal);

        await shelf.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.State, DropState.Sent).SetProperty(d => d.SlippedAt, shelf.Temp.Clock.GetUtcNow())));
        Assert.IsType<DropOutcome.Refused>(await EndAsync(shelf, 2));
    }

    [Fact]
    public async Task A_month_nobody_planned_that_slips_no_more_has_no_drop_again()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        Assert.IsType<TellOfSlipOutcome.Told>(await TellAsync(shelf, null));
        Assert.Equal(new DropOutcome.Done(null), await EndAsync(shelf, 0));
        Assert.Empty(await shelf.WithAsync(db => db.Drops.ToListAsync()));
        Assert.Equal(new DropOutcome.Done(null), await EndAsync(shelf, 0));
    }

    private static Task<DropOutcome> EndAsync(PlanningShelf shelf, int revision) => shelf.WithAsync(db => new EndSlip(db).RunAsync(November, revision, default));

    private static Task<DropNews> NewsAsync(PlanningShelf shelf) => shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default));

    private static Task<TellOfSlipOutcome> TellAsync(PlanningShelf shelf, int? revision, string reason = "The kiln broke.") =>
        shelf.WithAsync(db => new TellOfSlip(db, shelf.Temp.Clock, Options.Create(new ShelfSettings())).RunAsync(November, reason, revision, default));

    private static Task<long> PersonAsync(PlanningShelf shelf, string name) => shelf.WithAsync(async db =>
        (await TestPeople.FindOrAddAsync(db, $"{name}@post.example", shelf.Temp.Clock.GetUtcNow())).Id);
}
