using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Letters;

public sealed class SendOutboxTests
{
    private readonly FakeMailer _mailer = new();

    private async Task<OutboxRound> SendAsync(TempShelf shelf, CancellationToken cancellationToken = default)
    {
        await using var db = shelf.Open();
        var settings = Options.Create(new ShelfSettings { Mail = new() { FromAddress = "shelf@tinworks.example" } });
        return await new SendOutbox(db, _mailer, shelf.Clock, settings, NullLogger<SendOutbox>.Instance).RunAsync(cancellationToken);
    }

    private static async Task<TempShelf> WithMailsAsync(params string[] causes)
    {
        var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        foreach (var cause in causes)
            db.Outbox.Add(new OutboxMail { Cause = cause, To = "wren@post.example", Subject = "S", Text = "secret", CreatedAt = shelf.Clock.GetUtcNow() });
        await db.SaveChangesAsync();
        return shelf;
    }

    private static async Task<OutboxMail> RowAsync(TempShelf shelf, string cause)
    {
        await using var db = shelf.Open();
        return await db.Outbox.AsNoTracking().SingleAsync(m => m.Cause == cause);
    }

    [Fact]
    public async Task A_sent_mail_keeps_its_subject_loses_its_text_and_is_not_sent_again()
    {
        await using var shelf = await WithMailsAsync("sign-in:42");
        Assert.Equal(new OutboxRound(1, 0, 0, null), await SendAsync(shelf));
        await SendAsync(shelf);
        var sent = Assert.Single(_mailer.Tried);
        // 25 November 2026, 12:00 UTC in Unix milliseconds: date -u -d '2026-11-25 12:00' +%s000
        Assert.Equal("sign-in.42.1795608000000@tinworks.example", sent.MessageId);
        Assert.StartsWith("secret\n", sent.Text, StringComparison.Ordinal);
        var row = await RowAsync(shelf, "sign-in:42");
        Assert.Equal(("S", "", shelf.Clock.GetUtcNow()), (row.Subject, row.Text, row.SentAt));
    }

    [Fact]
    public async Task A_mail_put_off_is_tried_after_each_wait_with_the_same_Message_ID_then_given_up()
    {
        await using var shelf = await WithMailsAsync("welcome:1");
        _mailer.Answer = _ => new MailRefusedException("451 try later", isPermanent: false);
        foreach (var wait in SendOutbox.Waits)
        {
            var due = shelf.Clock.GetUtcNow() + wait;
            Assert.Equal(new OutboxRound(0, 1, 0, due), await SendAsync(shelf));
            shelf.Clock.Advance(wait - TimeSpan.FromSeconds(1));
            Assert.Equal(0, (await SendAsync(shelf)).PutOff);
            shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        }
        Assert.Equal(new OutboxRound(0, 0, 1, null), await SendAsync(shelf));
        Assert.Equal(SendOutbox.Waits.Count + 1, _mailer.Tried.Count);
        Assert.Single(_mailer.Tried.Select(m => m.MessageId).Distinct());
        var row = await RowAsync(shelf, "welcome:1");
        // Kept, so that it can be tried again.
        Assert.Equal(("451 try later", "secret"), (row.LastError, row.Text));
        Assert.NotNull(row.GaveUpAt);
        shelf.Clock.Advance(TimeSpan.FromDays(30));
        Assert.Equal(new OutboxRound(0, 0, 0, null), await SendAsync(shelf));
    }

    [Fact]
    public async Task A_mail_refused_for_good_is_given_up_at_once_and_holds_up_no_other()
    {
        await using var shelf = await WithMailsAsync("a:1", "b:1");
        _mailer.Answer = m => m.MessageId.StartsWith("a.1", StringComparison.Ordinal) ? new MailRefusedException("550 no such box", isPermanent: true) : null;
        Assert.Equal(new OutboxRound(1, 0, 1, null), await SendAsync(shelf));
        Assert.Equal("550 no such box", (await RowAsync(shelf, "a:1")).LastError);
        Assert.NotNull((await RowAsync(shelf, "b:1")).SentAt);
    }

    [Fact]
    public async Task Senders_at_once_send_each_mail_once()
    {
        await using var shelf = await WithMailsAsync([.. Enumerable.Range(0, 20).Select(i => $"sign-in:{i}")]);
        var rounds = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => SendAsync(shelf))));
        Assert.Equal(20, rounds.Sum(r => r.Sent));
        Assert.Equal(20, _mailer.Tried.Select(m => m.MessageId).Distinct().Count());
        Assert.Equal(20, _mailer.Tried.Count);
    }

    [Fact]
    public async Task A_sender_that_dies_with_a_mail_in_hand_leaves_it_for_five_minutes()
    {
        await using var shelf = await WithMailsAsync("sign-in:1");
        using var stop = new CancellationTokenSource();
        _mailer.Answer = _ =>
        {
            stop.Cancel();
            throw new OperationCanceledException("power cut");
        };
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => SendAsync(shelf, stop.Token));
        _mailer.Answer = _ => null;
        Assert.Equal(0, (await SendAsync(shelf)).Sent);
        shelf.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.Equal(1, (await SendAsync(shelf)).Sent);
    }

    [Fact]
    public async Task With_the_server_away_for_a_week_no_letter_loses_a_try_and_a_round_tries_one()
    {
        await using var shelf = await WithMailsAsync([.. Enumerable.Range(0, 30).Select(i => $"joined:{i}")]);
        _mailer.Answer = _ => new MailRefusedException("could not be reached", isPermanent: false) { IsAboutServer = true };
        for (var hours = 0; hours < 7 * 24; hours += 4)
        {
            Assert.Equal((0, 1, 0, true), await SendAsync(shelf) is var round ? (round.Sent, round.PutOff, round.GivenUp, round.IsServerAway) : default);
            shelf.Clock.Advance(TimeSpan.FromHours(4));
        }
        // Each in its turn: one that alone ends the round would not keep the others.
        Assert.Equal(30, _mailer.Tried.Select(m => m.MessageId).Distinct().Count());
        _mailer.Answer = _ => null;
        Assert.Equal(new OutboxRound(30, 0, 0, null), await SendAsync(shelf));
        Assert.Equal(1, (await RowAsync(shelf, "joined:0")).Attempts);
    }

    [Fact]
    public async Task With_the_server_away_a_sign_in_is_still_tried_first_and_given_up_in_the_end()
    {
        await using var shelf = await WithMailsAsync("joined:1", "sign-in:1");
        _mailer.Answer = _ => new MailRefusedException("could not be reached", isPermanent: false) { IsAboutServer = true };
        for (var tries = 0; tries <= SendOutbox.Waits.Count; tries++)
        {
            await SendAsync(shelf);
            Assert.StartsWith("sign-in", _mailer.Tried[^1].MessageId, StringComparison.Ordinal);
            shelf.Clock.Advance(SendOutbox.Waits[^1]);
        }
        Assert.Equal(("", true), await RowAsync(shelf, "sign-in:1") is var over ? (over.Text, over.GaveUpAt is not null) : default);
        Assert.Equal(("secret", 0), await RowAsync(shelf, "joined:1") is var kept ? (kept.Text, kept.Attempts) : default);
    }

    [Fact]
    public async Task A_fault_with_one_mail_keeps_no_other_and_costs_no_tries()
    {
        await using var shelf = await WithMailsAsync("joined:1", "joined:2");
        _mailer.Answer = m => m.MessageId.StartsWith("joined.1", StringComparison.Ordinal) ? throw new InvalidOperationException("no such word") : null;
        for (var days = 0; days < 10; days++)
        {
            await SendAsync(shelf);
            shelf.Clock.Advance(TimeSpan.FromDays(1));
        }
        Assert.NotNull((await RowAsync(shelf, "joined:2")).SentAt);
        Assert.Equal((0, "A fault of the shelf: no such word"), await RowAsync(shelf, "joined:1") is var stuck ? (stuck.Attempts, stuck.LastError) : default);
        // What the other side says then is its first try.
        _mailer.Answer = _ => new MailRefusedException("451 try later", isPermanent: false);
        Assert.Equal(1, (await SendAsync(shelf)).PutOff);
    }
}
