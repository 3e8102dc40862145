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

    private async Task<OutboxRound> SendAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        var settings = Options.Create(new ShelfSettings { Mail = new() { FromAddress = "shelf@tinworks.example" } });
        return await new SendOutbox(db, _mailer, shelf.Clock, settings, NullLogger<SendOutbox>.Instance).RunAsync(CancellationToken.None);
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
        Assert.Equal("secret", sent.Text);
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
        Assert.Equal(("451 try later", ""), (row.LastError, row.Text));
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
        _mailer.Answer = _ => throw new InvalidOperationException("power cut");
        await Assert.ThrowsAsync<InvalidOperationException>(() => SendAsync(shelf));
        _mailer.Answer = _ => null;
        Assert.Equal(0, (await SendAsync(shelf)).Sent);
        shelf.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.Equal(1, (await SendAsync(shelf)).Sent);
    }
}
