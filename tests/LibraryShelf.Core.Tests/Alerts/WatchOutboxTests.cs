using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Alerts;

public sealed class WatchOutboxTests
{
    [Fact]
    public async Task Given_up_mails_stand_as_one_case_that_names_the_last_and_goes_when_later_ones_went_out()
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.Equal(0, await WatchAsync(shelf));
        var began = shelf.Clock.GetUtcNow();
        await GiveUpAsync(shelf, "welcome:1", "wren@post.example");
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(1, await WatchAsync(shelf));
        await GiveUpAsync(shelf, "sign-in:7", "lark@post.example");
        Assert.Equal(2, await WatchAsync(shelf));
        Assert.Equal(2, await WatchAsync(shelf));
        var alert = await OnlyAsync(shelf);
        Assert.Equal((AlertKind.MailNotSent, began, 2, null), (alert.Kind, alert.RaisedAt, alert.Times, alert.SettledAt));
        Assert.StartsWith("2 mails could not be sent and are not tried again. The last one: “S”, to lark@post.example. What was said: 550 no such box",
            alert.Words, StringComparison.Ordinal);

        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        await SentAsync(shelf, "sign-in:8", "lark@post.example");
        Assert.Equal(1, await WatchAsync(shelf));
        Assert.Contains("wren@post.example", (await OnlyAsync(shelf)).Words, StringComparison.Ordinal);
        await SentAsync(shelf, "sign-in:9", "wren@post.example");
        Assert.Equal(0, await WatchAsync(shelf));
        Assert.NotNull((await OnlyAsync(shelf)).SettledAt);
    }

    [Fact]
    public async Task Mails_that_wait_for_long_stand_as_a_case_of_their_own_until_they_went_out()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Outbox.Add(new OutboxMail { Cause = "sign-in:1", To = "wren@post.example", Subject = "S", CreatedAt = shelf.Clock.GetUtcNow(), LastError = "Connection refused", Attempts = 1 });
            db.Outbox.Add(new OutboxMail { Cause = "sign-in:2", To = "wren@post.example", Subject = "not tried", CreatedAt = shelf.Clock.GetUtcNow() });
            await db.SaveChangesAsync();
        }
        shelf.Clock.Advance(WatchOutbox.LongWait);
        await WatchAsync(shelf);
        await using (var db = shelf.Open())
            Assert.Empty(await db.Alerts.ToListAsync());
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        await WatchAsync(shelf);
        await WatchAsync(shelf);
        var alert = await OnlyAsync(shelf);
        Assert.Equal((AlertKind.MailNotSent, "waiting", 1, null), (alert.Kind, alert.Subject, alert.Times, alert.SettledAt));
        Assert.Contains("Connection refused", alert.Words, StringComparison.Ordinal);
        await using (var db = shelf.Open())
            await db.Outbox.ExecuteUpdateAsync(s => s.SetProperty(m => m.SentAt, shelf.Clock.GetUtcNow()));
        await WatchAsync(shelf);
        Assert.NotNull((await OnlyAsync(shelf)).SettledAt);
    }

    [Fact]
    public async Task A_letter_that_was_never_composed_is_named_by_what_it_is_about()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await AddAsync(shelf, new OutboxMail { Cause = "drop:1:1", AboutId = 1, PersonId = 1, CreatedAt = shelf.Clock.GetUtcNow() - TimeSpan.FromHours(1), LastError = "Connection refused" });
        await WatchAsync(shelf);
        Assert.Contains("the oldest one about the month’s drop for more than half an hour", (await OnlyAsync(shelf)).Words, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("welcome:1", false, 0)]
    [InlineData("sign-in:1", false, 1)]
    [InlineData("sign-in:1", true, 0)]
    public async Task What_is_only_held_is_no_trouble_of_the_mail_server(string cause, bool isTrial, int alerts)
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.AddRange(
            new Shop { HeldSince = shelf.Clock.GetUtcNow(), IsTrial = isTrial },
            new OutboxMail { Cause = cause, To = "wren@post.example", Subject = "S", CreatedAt = shelf.Clock.GetUtcNow().AddDays(-1), LastError = "451 later", Attempts = 1 });
        await db.SaveChangesAsync();
        await WatchAsync(shelf);
        Assert.Equal(alerts, await db.Alerts.CountAsync());
    }

    [Fact]
    public async Task What_its_maker_stopped_is_no_trouble_of_the_mail_server_until_it_is_let_go()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.AddRange(
            new MailHold { Begins = "drop:1:", AboutId = 1, At = shelf.Clock.GetUtcNow() },
            new OutboxMail { Cause = "drop:1:1", AboutId = 1, PersonId = 1, CreatedAt = shelf.Clock.GetUtcNow().AddDays(-1), LastError = "Connection refused", Attempts = 1 });
        await db.SaveChangesAsync();
        await WatchAsync(shelf);
        Assert.Empty(await db.Alerts.ToListAsync());
        await db.MailHolds.ExecuteDeleteAsync();
        await WatchAsync(shelf);
        Assert.Null((await OnlyAsync(shelf)).SettledAt);
    }

    [Fact]
    public async Task What_was_put_away_does_not_come_back_with_the_next_one()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await GiveUpAsync(shelf, "welcome:1", "wren@post.example");
        await WatchAsync(shelf);
        await using (var db = shelf.Open())
            await new PutAwayAlert(db, shelf.Clock).RunAsync(1, (await OnlyAsync(shelf)).RaisedAt, CancellationToken.None);
        Assert.Equal(0, await WatchAsync(shelf));
        shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        await GiveUpAsync(shelf, "welcome:2", "lark@post.example");
        shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        for (var i = 0; i < 2; i++)
            Assert.Equal(1, await WatchAsync(shelf));
        Assert.Equal(1, (await OnlyAsync(shelf)).Times);
    }

    private static Task GiveUpAsync(TempShelf shelf, string cause, string to) =>
        AddAsync(shelf, new OutboxMail { Cause = cause, To = to, Subject = "S", Attempts = 1, GaveUpAt = shelf.Clock.GetUtcNow(), LastError = "550 no such box" });

    private static Task SentAsync(TempShelf shelf, string cause, string to) =>
        AddAsync(shelf, new OutboxMail { Cause = cause, To = to, Subject = "S", SentAt = shelf.Clock.GetUtcNow() });

    private static async Task AddAsync(TempShelf shelf, OutboxMail mail)
    {
        await using var db = shelf.Open();
        db.Outbox.Add(mail);
        await db.SaveChangesAsync();
    }

    private static async Task<int> WatchAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await new WatchOutbox(db, shelf.Clock).RunAsync(CancellationToken.None);
    }

    private static async Task<Alert> OnlyAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await db.Alerts.AsNoTracking().SingleAsync();
    }
}
