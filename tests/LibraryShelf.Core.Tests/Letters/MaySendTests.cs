using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>What may be sent, in which order, and how many.</summary>
public sealed class MaySendTests
{
    [Theory]
    [InlineData(MailKind.Drop, false, false, false, MaySendWhy.Yes)]
    [InlineData(MailKind.Drop, true, false, false, MaySendWhy.Refused)]
    [InlineData(MailKind.Drop, false, true, false, MaySendWhy.Suppressed)]
    [InlineData(MailKind.Drop, false, false, true, MaySendWhy.Held)]
    [InlineData(MailKind.Notice, true, false, false, MaySendWhy.Yes)] // can't be refused
    [InlineData(MailKind.Notice, false, true, false, MaySendWhy.Suppressed)]
    [InlineData(MailKind.Notice, false, false, true, MaySendWhy.Held)]
    [InlineData(MailKind.SignIn, true, true, true, MaySendWhy.Yes)] // somebody waits for it
    public void The_rule(MailKind kind, bool isRefused, bool isSuppressed, bool isHeld, MaySendWhy expected) =>
        Assert.Equal(expected, MaySend.Decide(kind, isRefused, isSuppressed, isHeld));

    [Fact]
    public void Every_kind_can_be_refused_or_is_named_as_needed() =>
        Assert.Equal(Enum.GetValues<MailKind>().Where(MailKinds.CanBeRefused).Order(), LetterKinds.All.Select(k => k.Kind).Order());

    [Fact]
    public async Task A_mailbox_that_is_not_there_gets_nothing_more_but_sign_in_mails()
    {
        await using var bench = await LetterBench.MakeAsync();
        await bench.Bench.PersonAsync("Wren@post.example");
        await bench.AddAsync(Mail("welcome:1", "Wren@post.example"), Mail("welcome:2", "nobody@post.example"));
        bench.Mailer.Answer = _ => new MailRefusedException("550 5.1.1 no such mailbox", isPermanent: true) { IsAboutMailbox = true };
        Assert.Equal(2, (await bench.SendAsync()).GivenUp);
        // Whoever typed an address nobody here has leaves nothing.
        Assert.Equal("WREN@POST.EXAMPLE", (await bench.Bench.WithAsync(db => db.MailSuppressions.SingleAsync())).NormalizedEmail);

        bench.Mailer.Answer = _ => null;
        await bench.AddAsync(Mail("unpaid:1", "wren@post.example"), Mail("sign-in:1", "wren@post.example"));
        Assert.Equal((1, 1), ((await bench.SendAsync()) is var round ? (round.Sent, round.LeftOut) : default));
        Assert.NotNull((await bench.RowAsync("sign-in:1")).SentAt);
        Assert.Contains("the mailbox refused for good", (await bench.RowAsync("unpaid:1")).LastError, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_shelf_that_is_held_sends_sign_in_mails_alone_until_it_is_not()
    {
        await using var bench = await LetterBench.MakeAsync();
        await bench.AddAsync(Mail("welcome:1"), Mail("sign-in:1"), Mail("joined:1"));
        await bench.Bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, DateTimeOffset.UnixEpoch)));
        Assert.Equal(new OutboxRound(1, 0, 0, null), await bench.SendAsync());
        await bench.Bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null)));
        Assert.Equal(2, (await bench.SendAsync()).Sent);
    }

    [Fact]
    public async Task So_many_go_in_an_hour_and_sign_in_mails_never_wait()
    {
        await using var bench = await LetterBench.MakeAsync();
        bench.Settings.Mail.MostAnHour = 3;
        await bench.AddAsync([.. Enumerable.Range(1, 5).Select(i => Mail($"welcome:{i}"))]);
        var clock = bench.Bench.Bench.Shelf.Clock;
        Assert.Equal(new OutboxRound(3, 0, 0, clock.GetUtcNow().AddHours(1)), await bench.SendAsync());
        await bench.AddAsync(Mail("sign-in:1"));
        Assert.Equal(1, (await bench.SendAsync()).Sent);
        Assert.NotNull((await bench.RowAsync("sign-in:1")).SentAt);
        clock.Advance(TimeSpan.FromMinutes(59));
        Assert.Equal(0, (await bench.SendAsync()).Sent);
        clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(2, (await bench.SendAsync()).Sent);
    }

    [Fact]
    public async Task A_sign_in_mail_written_while_many_letters_go_waits_for_ten_of_them_at_most()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0", Audience.Free);
        var wren = await bench.MemberAsync("wren@post.example");
        var drop = await bench.SentDropAsync([first], wren);
        await bench.AddAsync([.. Enumerable.Range(1, 30).Select(i => bench.Row($"drop:{drop}:{wren}:{i}", drop, wren)), Mail("welcome:1")]);
        var isAsked = false;
        bench.Mailer.Answer = _ =>
        {
            if (!isAsked && bench.Mailer.Tried.Count > 5)
            {
                isAsked = true;
                bench.AddAsync(Mail("sign-in:1")).GetAwaiter().GetResult();
            }
            return null;
        };
        await bench.SendAsync();
        // Written before the letters' turn came: what is one person's goes first.
        Assert.StartsWith("welcome.1.", bench.Mailer.Tried[0].MessageId, StringComparison.Ordinal);
        Assert.InRange(bench.Mailer.Tried.FindIndex(m => m.MessageId.StartsWith("sign-in.1.", StringComparison.Ordinal)), 6, 16);
    }

    private static OutboxMail Mail(string cause, string to = "wren@post.example") => new()
    {
        Cause = cause, To = to, Subject = "S", Text = "T", CreatedAt = new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero),
    };

    [Fact]
    public async Task What_they_have_to_hear_of_is_given_up_aloud_at_a_closed_mailbox_and_the_last_mail_leaves_no_address()
    {
        await using var bench = await LetterBench.MakeAsync();
        await bench.AddAsync(
            new MailSuppression { NormalizedEmail = "WREN@POST.EXAMPLE", Because = "550 5.1.1" }, Mail("price:1:1"), Mail("unpaid:1:1"), Mail("deleted:1"));
        Assert.Equal((0, 2, 1), (await bench.SendAsync()) is var round ? (round.Sent, round.GivenUp, round.LeftOut) : default);
        Assert.Equal((false, true), ((await bench.RowAsync("price:1:1")).IsLeftOut, (await bench.RowAsync("unpaid:1:1")).IsLeftOut));
        Assert.False(await bench.Bench.WithAsync(db => db.Outbox.AnyAsync(m => m.Cause == "deleted:1")));
        Assert.Equal(1, await bench.Bench.WithAsync(db => new LibraryShelf.Core.Alerts.WatchOutbox(db, bench.Bench.Bench.Shelf.Clock).RunAsync(default)));
    }

    [Fact]
    public async Task A_shelf_that_only_tries_a_backup_sends_nothing_at_all()
    {
        await using var bench = await LetterBench.MakeAsync();
        await bench.AddAsync(Mail("sign-in:1"), Mail("welcome:1"));
        await bench.Bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, DateTimeOffset.UnixEpoch).SetProperty(x => x.IsTrial, true)));
        Assert.Equal((0, (DateTimeOffset?)null), (await bench.SendAsync()) is var round ? (round.Sent, round.NextTryAt) : default);
        Assert.Empty(bench.Mailer.Tried);
    }

    [Fact]
    public async Task A_clock_set_back_holds_up_nothing_for_what_was_sent_in_the_future()
    {
        await using var bench = await LetterBench.MakeAsync();
        bench.Settings.Mail.MostAnHour = 1;
        var later = Mail("welcome:1");
        later.SentAt = bench.Bench.Bench.Shelf.Clock.GetUtcNow().AddDays(1);
        await bench.AddAsync(later, Mail("welcome:2"), Mail("welcome:3"));
        Assert.Equal((1, (DateTimeOffset?)bench.Bench.Bench.Shelf.Clock.GetUtcNow().AddHours(1)), (await bench.SendAsync()) is var round ? (round.Sent, round.NextTryAt) : default);
    }

    /// <summary>Why, from whom and from where stands in each mail; how to stop it in each that can be stopped, and in no other.</summary>
    [Fact]
    public async Task Every_mail_says_why_and_who_and_is_stopped_by_its_own_link_or_none()
    {
        await using var bench = await LetterBench.MakeAsync();
        var wren = await bench.Bench.PersonAsync("wren@post.example");
        // The words a cause begins with, as they are written anywhere in Core, and the kind that RFC 8058's header names.
        var slugs = new Dictionary<string, string>(StringComparer.Ordinal)
        {
            ["slip"] = "drop", ["early"] = "new-version", ["withdrawn"] = "withdrawal", ["mended-after"] = "withdrawal", ["mended"] = "fault", ["answered"] = "fault",
            ["unpaid"] = "renewal", ["welcome"] = "welcome", ["left"] = "goodbye", ["alert"] = "alert", ["week"] = "week",
            ["sign-in"] = "", ["delete-me"] = "", ["address"] = "", ["following"] = "", ["joined"] = "", ["price"] = "", ["price-off"] = "", ["credit"] = "", ["credit-back"] = "",
            ["claim"] = "", ["merged"] = "", ["deleted"] = "",
        };
        Assert.Superset(MailKinds.Words.Except(["drop", "version", "follow", "behind"]).ToHashSet(), slugs.Keys.ToHashSet()); // those four are composed: WriteLetterTests, BehindLetterTests
        await bench.AddAsync([.. slugs.Keys.Select(word => Mail($"{word}:1"))]);
        Assert.Equal(slugs.Count, (await bench.SendAsync()).Sent);
        var key = await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == wren).Select(p => p.LetterKey).SingleAsync());
        foreach (var (word, slug) in slugs)
        {
            var mail = bench.Mailer.Tried.Single(m => m.MessageId.StartsWith($"{word}.1.", StringComparison.Ordinal));
            Assert.Matches(@"^T\n\nYou get this mail because [^\n]+\.\n", mail.Text);
            Assert.EndsWith("\n\n-- \nSaltmarsh Sound Room\nThe Old Net Loft\n", mail.Text, StringComparison.Ordinal);
            string[] stops = slug.Length == 0 ? [] : [$"<https://shelf.example/letters/{key}/{slug}>", "List-Unsubscribe=One-Click"];
            Assert.Equal(stops, mail.Headers.Select(h => h.Value));
            Assert.Equal(slug.Length > 0, mail.Text.Contains($"\nhttps://shelf.example/letters/{key}/{slug}\n", StringComparison.Ordinal));
        }
    }
}
