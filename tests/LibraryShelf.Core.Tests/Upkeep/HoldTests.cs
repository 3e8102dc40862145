using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

public sealed class HoldTests
{
    [Fact]
    public async Task What_is_held_is_told_and_old_mails_can_be_thrown_away_without_an_alarm()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        Assert.Null(await new ReadHold(db, shelf.Clock).RunAsync(default));
        db.AddRange(
            new Shop { HeldSince = now.AddHours(-1) },
            new OutboxMail { Cause = "old", To = "wren@post.example", Text = "Hello.", CreatedAt = now.AddDays(-1) },
            new OutboxMail { Cause = "new", To = "wren@post.example", Text = "Hello.", CreatedAt = now },
            new OutboxMail { Cause = "sent", SentAt = now.AddDays(-2), CreatedAt = now.AddDays(-2) },
            new Drop { Month = new(2026, 11), Title = "Tins", DueAt = now.AddMinutes(-1) },
            new Drop { Month = new(2026, 12), Title = "Reeds", DueAt = now.AddDays(6) });
        await db.SaveChangesAsync();
        var hold = await new ReadHold(db, shelf.Clock).RunAsync(default);
        Assert.NotNull(hold);
        Assert.Equal((now.AddHours(-1), 1, 1, "Tins"), (hold.Since, hold.OldMails, hold.NewMails, Assert.Single(hold.DueDrops).Title));

        Assert.Equal(EndHoldOutcome.Ended, await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default));
        Assert.Equal(EndHoldOutcome.NotHeld, await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default));
        await using var after = shelf.Open();
        Assert.Null((await after.Shops.SingleAsync()).HeldSince);
        var old = await after.Outbox.SingleAsync(m => m.Cause == "old");
        Assert.Equal((now, "", EndHold.ThrownAway), (old.GaveUpAt, old.Text, old.LastError));
        Assert.Equal("Hello.", (await after.Outbox.SingleAsync(m => m.Cause == "new" && m.GaveUpAt == null)).Text);
        Assert.Equal(0, await new WatchOutbox(after, shelf.Clock).RunAsync(default));
        Assert.False(await after.Alerts.AnyAsync(a => a.SettledAt == null));
    }
}
