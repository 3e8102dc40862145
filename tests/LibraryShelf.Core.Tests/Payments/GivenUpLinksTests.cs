using System.Text.RegularExpressions;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Tests.Letters;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>The link to leave opens something for whoever has it, so no mail that is kept holds it.</summary>
public sealed partial class GivenUpLinksTests
{
    private readonly FakeMailer mailer = new() { Answer = _ => new MailRefusedException("554 not taken", isPermanent: true) };

    [Fact]
    public async Task A_mail_that_was_given_up_holds_no_link_to_leave_and_tried_again_it_has_a_new_one()
    {
        await using var shelf = await ToldAsync();
        await SendAsync(shelf);
        Assert.Equal(3, mailer.Tried.Select(TokenOf).Distinct().Count());
        var rows = await RowsAsync(shelf);
        Assert.Equal(["joined", "price", "unpaid"], rows.Select(m => m.Cause.Split(':')[0]));
        Assert.All(rows, m => Assert.True(m.CanBeTriedAgain && !Link().IsMatch(m.Text), m.Text));
        Assert.All(mailer.Tried.Select(TokenOf), token => Assert.DoesNotContain(rows, m => m.Text.Contains(token, StringComparison.Ordinal)));

        mailer.Tried.Clear();
        mailer.Answer = _ => null;
        foreach (var row in rows)
        {
            var pressed = await Task.WhenAll(Enumerable.Range(0, 3).Select(_ => AgainAsync(shelf, row.Id)));
            Assert.Single(pressed, TryMailAgainOutcome.Waits);
        }
        // Three mails in vain, and three that go: one link each, however often it was pressed.
        Assert.Equal(6, await shelf.AskAsync(db => db.LeaveTickets.CountAsync()));
        await SendAsync(shelf);
        Assert.Equal(3, mailer.Tried.Count);
        foreach (var mail in mailer.Tried)
            Assert.NotNull(await shelf.AskAsync(db => LeavingOne.FindAsync(db, new Leaver.ByLink(TokenOf(mail)), shelf.Now, default)));
        // Sent, nothing of it is kept.
        Assert.All(await RowsAsync(shelf), m => Assert.Equal(("", true), (m.Text, m.SentAt is not null)));
    }

    [Fact]
    public async Task Nor_does_one_to_a_closed_mailbox_that_has_to_be_told()
    {
        await using var shelf = await ToldAsync();
        await shelf.AskAsync(db =>
        {
            db.MailSuppressions.Add(new MailSuppression { NormalizedEmail = "WREN@POST.EXAMPLE", Because = "550 5.1.1" });
            return db.SaveChangesAsync();
        });
        await SendAsync(shelf);
        Assert.Empty(mailer.Tried);
        var rows = await RowsAsync(shelf);
        Assert.Equal(["joined", "price"], rows.Where(m => m.CanBeTriedAgain).Select(m => m.Cause.Split(':')[0]));
        Assert.All(rows, m => Assert.False(m.GaveUpAt is null || Link().IsMatch(m.Text), m.Text));
    }

    /// <summary>One member, to whom three mails wait: that they joined, that a payment failed, that the price changes.</summary>
    private static async Task<PayingShelf> ToldAsync()
    {
        var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        shelf.Provider.Happens("sub_1", m => m with { PriceId = $"price_{shelf.PlanId}", UnpaidSince = shelf.Now });
        await shelf.LookAsync("sub_1");
        await shelf.AskAsync(async db =>
        {
            var dearer = new Plan { Minor = 1100, CreatedAt = shelf.Now };
            db.Plans.Add(dearer);
            await db.SaveChangesAsync();
            var day = DateOnly.FromDateTime(shelf.Now.AddDays(40).UtcDateTime);
            Assert.Equal(ChangePricesOutcome.Announced, await new ChangePrices(db, shelf.Clock, shelf.Settings).RunAsync(new NewPrice(shelf.PlanId, dearer.Id, day, "Reeds cost more."), default));
            return await new TellPriceChanges(db, shelf.Clock).RunAsync(PayingShelf.Address, default);
        });
        return shelf;
    }

    private Task<OutboxRound> SendAsync(PayingShelf shelf) => shelf.AskAsync(db => new SendOutbox(db, mailer, shelf.Clock, shelf.Settings, NullLogger<SendOutbox>.Instance).RunAsync(default));

    private static Task<TryMailAgainOutcome> AgainAsync(PayingShelf shelf, long id) => shelf.AskAsync(db => new TryMailAgain(db, shelf.Clock).RunAsync(id, default));

    private static async Task<List<OutboxMail>> RowsAsync(PayingShelf shelf) => [.. (await shelf.AskAsync(db => db.Outbox.AsNoTracking()
        .Where(m => m.Cause.StartsWith("joined:") || m.Cause.StartsWith("price:") || m.Cause.StartsWith("unpaid:")).ToListAsync())).OrderBy(m => m.Cause, StringComparer.Ordinal)];

    private static string TokenOf(MailToSend mail) => Link().Match(mail.Text).Groups[1].Value is { Length: > 0 } token ? token : throw new InvalidOperationException(mail.Text);

    [GeneratedRegex("/leave/([A-Za-z0-9_-]{43})", RegexOptions.None, 1000)]
    private static partial Regex Link();
}
