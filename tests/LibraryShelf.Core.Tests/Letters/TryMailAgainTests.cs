using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>What was given up goes back into the outbox once, and only what may be sent.</summary>
public sealed class TryMailAgainTests
{
    [Fact]
    public async Task It_goes_back_once_to_the_address_of_today_and_is_sent()
    {
        await using var bench = await LetterBench.MakeAsync();
        var wren = await bench.Bench.PersonAsync("wern@post.example");
        bench.Mailer.Answer = _ => new MailRefusedException("550 no such user", isPermanent: true);
        await bench.AddAsync(new OutboxMail { Cause = "price:1:1", PersonId = wren, To = "wern@post.example", Subject = "Another price", Text = "Eleven euros.", CreatedAt = bench.Bench.Bench.Shelf.Clock.GetUtcNow() });
        Assert.Equal(1, (await bench.SendAsync()).GivenUp);
        var row = await bench.RowAsync("price:1:1");
        Assert.True(row.CanBeTriedAgain);

        await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == wren).ExecuteUpdateAsync(s => s.SetProperty(p => p.Email, "wren@post.example").SetProperty(p => p.NormalizedEmail, "WREN@POST.EXAMPLE")));
        bench.Mailer.Answer = _ => null;
        var pressed = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => AgainAsync(bench, row.Id)));
        Assert.Single(pressed, TryMailAgainOutcome.Waits);
        Assert.Equal(3, pressed.Count(o => o == TryMailAgainOutcome.NotGivenUp));
        Assert.Equal(1, (await bench.SendAsync()).Sent);
        var (first, last) = (bench.Mailer.Tried[0], bench.Mailer.Tried[^1]);
        Assert.Equal((2, "wren@post.example", first.MessageId, true), (bench.Mailer.Tried.Count, last.To, last.MessageId, last.Text.StartsWith("Eleven euros.", StringComparison.Ordinal)));
        Assert.Equal(TryMailAgainOutcome.NotGivenUp, await AgainAsync(bench, row.Id));
        row = await bench.RowAsync("price:1:1");
        Assert.Equal(("", 1, false), (row.Text, row.Attempts, row.CanBeTriedAgain));
    }

    [Fact]
    public async Task What_may_not_be_sent_stays_given_up()
    {
        await using var bench = await LetterBench.MakeAsync();
        var (refuses, closed) = (await bench.Bench.PersonAsync("robin@post.example"), await bench.Bench.PersonAsync("knot@post.example"));
        var drop = await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], refuses);
        await bench.AddAsync(GivenUp("welcome:1", closed, "T"), GivenUp("welcome:2", 999, "T"), GivenUp("sign-in:1", closed, ""), GivenUp("left:1", closed, "T", attempts: 0), GivenUp("joined:1", closed, "T"));
        await bench.Bench.WithAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("drop:")).ExecuteUpdateAsync(s => s.SetProperty(m => m.GaveUpAt, DateTimeOffset.UnixEpoch).SetProperty(m => m.Attempts, 8)));
        await bench.AddAsync(new MailRefusal { PersonId = refuses, Kind = MailKind.Drop }, new MailSuppression { NormalizedEmail = "KNOT@POST.EXAMPLE", Because = "550 5.1.1" });
        async Task<TryMailAgainOutcome> Of(string cause) => await AgainAsync(bench, (await bench.RowAsync(cause)).Id);

        Assert.Equal(
            [TryMailAgainOutcome.Refused, TryMailAgainOutcome.Suppressed, TryMailAgainOutcome.NobodyThere, TryMailAgainOutcome.TextGone, TryMailAgainOutcome.NotGivenUp, TryMailAgainOutcome.Suppressed],
            [await Of($"drop:{drop}:{refuses}"), await Of("welcome:1"), await Of("welcome:2"), await Of("sign-in:1"), await Of("left:1"), await Of("joined:1")]);
        Assert.Equal(0, await bench.Bench.WithAsync(db => db.Outbox.CountAsync(m => m.GaveUpAt == null)));
        Assert.Equal(TryMailAgainOutcome.NotGivenUp, await AgainAsync(bench, 999));

        // Lifted, and wanted again, both go.
        await bench.Bench.WithAsync(async db => await db.MailSuppressions.ExecuteDeleteAsync() + await db.MailRefusals.ExecuteDeleteAsync());
        await bench.Bench.WithAsync(db => db.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.Sentence, "Bells, mended.")));
        Assert.Equal([TryMailAgainOutcome.Waits, TryMailAgainOutcome.Waits], [await Of("welcome:1"), await Of($"drop:{drop}:{refuses}")]);
        Assert.Equal(2, (await bench.SendAsync()).Sent);
        // The letter is composed anew.
        Assert.Contains("Bells, mended.", bench.Mailer.Tried.Single(m => m.To == "robin@post.example").Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task One_of_many_that_were_stopped_waits_with_them()
    {
        await using var bench = await LetterBench.MakeAsync();
        var wren = await bench.Bench.PersonAsync("wren@post.example");
        var drop = await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], wren);
        await bench.Bench.WithAsync(db => db.Outbox.ExecuteUpdateAsync(s => s.SetProperty(m => m.GaveUpAt, DateTimeOffset.UnixEpoch).SetProperty(m => m.Attempts, 8)));
        await bench.AddAsync(new MailHold { Begins = $"drop:{drop}:", AboutId = drop, At = DateTimeOffset.UnixEpoch });
        var id = (await bench.RowAsync($"drop:{drop}:{wren}")).Id;
        Assert.Equal(TryMailAgainOutcome.WaitsStopped, await AgainAsync(bench, id));
        Assert.Equal(TryMailAgainOutcome.NotGivenUp, await AgainAsync(bench, id));
        Assert.Equal(0, (await bench.SendAsync()).Sent);
        await bench.Bench.WithAsync(db => db.MailHolds.ExecuteDeleteAsync());
        Assert.Equal(1, (await bench.SendAsync()).Sent);
    }

    [Fact]
    public async Task A_notice_to_a_closed_mailbox_keeps_its_text_and_a_mail_that_signs_in_does_not()
    {
        await using var bench = await LetterBench.MakeAsync();
        var closed = await bench.Bench.PersonAsync("knot@post.example");
        await bench.AddAsync(new MailSuppression { NormalizedEmail = "KNOT@POST.EXAMPLE", Because = "550 5.1.1" });
        await bench.AddAsync(Waiting("joined:1", closed), Waiting("following:1", closed), Waiting("sign-in:1", closed));
        bench.Mailer.Answer = _ => new MailRefusedException("550 no such user", isPermanent: true);
        Assert.Equal(3, (await bench.SendAsync()).GivenUp);
        Assert.Equal(["following:1 ", "joined:1 T", "sign-in:1 "], await bench.Bench.WithAsync(db => db.Outbox.OrderBy(m => m.Cause).Select(m => m.Cause + " " + m.Text).ToListAsync()));
        bench.Bench.Bench.Shelf.Clock.Advance(SweepMails.AddressKept + TimeSpan.FromDays(1));
        await bench.Bench.WithAsync(db => new SweepMails(db, bench.Bench.Bench.Shelf.Clock).RunAsync(default));
        Assert.Equal("", (await bench.RowAsync("joined:1")).Text);
    }

    private static OutboxMail Waiting(string cause, long person) => new() { Cause = cause, PersonId = person, To = "knot@post.example", Subject = "S", Text = "T", CreatedAt = new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero) };

    private static OutboxMail GivenUp(string cause, long person, string text, int attempts = 1) => new()
    {
        Cause = cause, PersonId = person, To = "knot@post.example", Subject = "S", Text = text, Attempts = attempts, GaveUpAt = DateTimeOffset.UnixEpoch, CreatedAt = DateTimeOffset.UnixEpoch,
    };

    private static Task<TryMailAgainOutcome> AgainAsync(LetterBench bench, long id) => bench.Bench.WithAsync(db => new TryMailAgain(db, bench.Bench.Bench.Shelf.Clock).RunAsync(id, default));
}
