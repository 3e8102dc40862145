using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Publishing;
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
            new OutboxMail { Cause = "drop:1:1", To = "", Text = "", AboutId = 1, CreatedAt = now.AddDays(-1), NextTryAt = now.AddHours(5) },
            new OutboxMail { Cause = "new", To = "wren@post.example", Text = "Hello.", CreatedAt = now },
            new OutboxMail { Cause = "sent", SentAt = now.AddDays(-2), CreatedAt = now.AddDays(-2) },
            new Drop { Month = new(2026, 11), Title = "Tins", DueAt = now.AddMinutes(-1) },
            new Drop { Month = new(2026, 10), Title = "Bells", DueAt = now, AsksSince = now },
            new Drop { Month = new(2026, 12), Title = "Reeds", DueAt = now.AddDays(6) });
        await db.SaveChangesAsync();
        var hold = await new ReadHold(db, shelf.Clock).RunAsync(default);
        Assert.NotNull(hold);
        Assert.Equal((now.AddHours(-1), 2, 1), (hold.Since, hold.OldMails, hold.NewMails));
        Assert.Equal([("Tins", false), ("Bells", true)], hold.DueDrops.Select(d => (d.Title, d.IsAsking)));

        Assert.Equal(EndHoldOutcome.Ended, await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default));
        Assert.Equal(EndHoldOutcome.NotHeld, await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default));
        await using var after = shelf.Open();
        Assert.Null((await after.Shops.SingleAsync()).HeldSince);
        var old = await after.Outbox.SingleAsync(m => m.Cause == "old");
        Assert.Equal((now, "", EndHold.ThrownAway), (old.GaveUpAt, old.Text, old.LastError));
        Assert.Equal((now, EndHold.ThrownAway), await after.Outbox.SingleAsync(m => m.Cause == "drop:1:1") is var letter ? (letter.GaveUpAt, letter.LastError) : default);
        Assert.Equal("Hello.", (await after.Outbox.SingleAsync(m => m.Cause == "new" && m.GaveUpAt == null)).Text);
        Assert.Equal(0, await new WatchOutbox(after, shelf.Clock).RunAsync(default));
        Assert.False(await after.Alerts.AnyAsync(a => a.SettledAt == null));
    }

    [Fact]
    public async Task Thrown_away_none_is_offered_again_a_deleted_persons_address_goes_and_mails_about_a_price_stay()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        OutboxMail Old(string cause) => new() { Cause = cause, To = "wren@post.example", Subject = "S", Text = "Hello.", Attempts = 2, LastError = "451 later", CreatedAt = now.AddDays(-1) };
        var letter = Old("drop:1:1");
        (letter.AboutId, letter.Text) = (1, "");
        db.AddRange(new Shop { HeldSince = now.AddHours(-1) }, Old("welcome:1"), letter, Old("deleted:7"), Old("price:1:1"), Old("price-off:1:2"));
        await db.SaveChangesAsync();
        Assert.Equal((3, 2), await new ReadHold(db, shelf.Clock).RunAsync(default) is { } hold ? (hold.OldMails, hold.PriceMails) : default);

        await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default);
        await using var after = shelf.Open();
        Assert.Equal(["drop:1:1", "price-off:1:2", "price:1:1", "welcome:1"], (await after.Outbox.Select(m => m.Cause).ToListAsync()).Order(StringComparer.Ordinal));
        Assert.All(await after.Outbox.Where(m => m.GaveUpAt != null).ToListAsync(), m => Assert.Equal((true, false), (m.IsLeftOut, m.CanBeTriedAgain)));
        Assert.Empty((await new ReadOutbox(after).RunAsync(default)).GivenUp);
        Assert.Equal(["Hello.", "Hello."], await after.Outbox.Where(m => m.GaveUpAt == null && m.Cause.StartsWith("price")).Select(m => m.Text).ToListAsync());
    }

    [Fact]
    public async Task Mails_that_were_stopped_are_not_counted_with_those_that_are_sent_and_are_not_thrown_away_with_them()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        db.AddRange(
            new Shop { HeldSince = now.AddHours(-1) }, new MailHold { Begins = "drop:1:", AboutId = 1, At = now.AddDays(-1) }, new MailHold { Begins = "version:2:", AboutId = 2, At = now },
            new OutboxMail { Cause = "old", To = "wren@post.example", Text = "Hello.", CreatedAt = now.AddDays(-1) },
            new OutboxMail { Cause = "drop:1:1", AboutId = 1, CreatedAt = now.AddDays(-1) }, new OutboxMail { Cause = "version:2:1", AboutId = 2, CreatedAt = now });
        await db.SaveChangesAsync();
        Assert.Equal((1, 0), await new ReadHold(db, shelf.Clock).RunAsync(default) is { } hold ? (hold.OldMails, hold.NewMails) : default);
        await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default);
        Assert.Equal(["drop:1:1", "version:2:1"], (await db.Outbox.Where(m => m.GaveUpAt == null).Select(m => m.Cause).ToListAsync()).Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task What_was_given_up_in_earnest_stands_also_after_old_mails_are_thrown_away()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        db.AddRange(
            new Shop { HeldSince = now.AddHours(-1) }, new OutboxMail { Cause = "old", To = "wren@post.example", Text = "Hello.", Attempts = 1, CreatedAt = now.AddDays(-1) },
            new OutboxMail { Cause = "welcome:1", To = "robin@post.example", Subject = "S", Attempts = 8, GaveUpAt = now.AddDays(-2), CreatedAt = now.AddDays(-5), LastError = "550 no such box" });
        await db.SaveChangesAsync();
        await new EndHold(db, shelf.Clock).RunAsync(throwAway: true, default);
        Assert.Equal(1, await new WatchOutbox(db, shelf.Clock).RunAsync(default));
        Assert.StartsWith("A mail could not be sent", (await db.Alerts.AsNoTracking().SingleAsync()).Words, StringComparison.Ordinal);
    }

    /// <summary>Published a moment before the backup was made: the shelf that was lost has told everybody since.</summary>
    [Theory]
    [InlineData(true, 0)]
    [InlineData(false, 1)]
    public async Task A_version_that_was_being_told_of_waits_and_is_told_once_the_hold_ends_unless_it_is_thrown_away(bool throwAway, int told)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        await using var db = shelf.Open();
        var library = new Library { Slug = "tins", Title = "Tins", CreatedAt = now };
        library.Releases.Add(new Release { Number = "1.0.0", CreatedAt = now, TellAskedAt = now.AddHours(-2) });
        library.Releases.Add(new Release { Number = "2.0.0", CreatedAt = now, TellAskedAt = now.AddMinutes(-1) });
        db.AddRange(library, new Shop { HeldSince = now.AddHours(-1) });
        await db.SaveChangesAsync();
        Assert.Equal(1, (await new ReadHold(db, shelf.Clock).RunAsync(default))!.Untold);
        foreach (var release in library.Releases)
            await new TellPeople(db, shelf.Clock).RunAsync(release.Id, null, default);
        // What this shelf has published itself is told of; those mails wait.
        Assert.Equal(["1.0.0"], await UntoldAsync(shelf));
        await new EndHold(db, shelf.Clock).RunAsync(throwAway, default);
        Assert.Equal(told, (await UntoldAsync(shelf)).Count);
        await new TellPeople(db, shelf.Clock).RunAsync(library.Releases[0].Id, null, default);
        Assert.Empty(await UntoldAsync(shelf));
    }

    private static async Task<List<string>> UntoldAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await db.Releases.Where(r => r.TellAskedAt != null).Select(r => r.Number).ToListAsync();
    }
}
