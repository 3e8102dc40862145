using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Alerts;

public sealed class MailAlertsTests
{
    [Fact]
    public async Task Each_case_is_mailed_once_to_the_maker_in_the_shops_name()
    {
        await using var shelf = await ClaimedAsync();
        await RaiseAsync(shelf, "CheckJob(1)", "The check broke off.");
        Assert.Equal(1, await MailAsync(shelf));
        await RaiseAsync(shelf, "CheckJob(1)", "Again.");
        Assert.Equal(0, await MailAsync(shelf));
        var mail = Assert.Single(await MailsAsync(shelf));
        // 25 November 2026, 12:00 UTC in Unix milliseconds: date -u -d '2026-11-25 12:00' +%s000
        Assert.Equal(("alert:1:1795608000000", "maker@tinworks.example", "Tinworks: something was not done"), (mail.Cause, mail.To, mail.Subject));
        Assert.StartsWith("The check broke off.", mail.Text, StringComparison.Ordinal);
        Assert.Contains("https://shelf.example/workbench", mail.Text, StringComparison.Ordinal);
        Assert.EndsWith("-- \nTinworks\n", mail.Text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(59, 1)]
    [InlineData(61, 2)]
    public async Task What_comes_back_within_an_hour_of_its_mail_is_not_mailed_again(int minutes, int mails)
    {
        await using var shelf = await ClaimedAsync();
        await RaiseAsync(shelf, "a", "w");
        await MailAsync(shelf);
        await using (var db = shelf.Open())
            await new SettleAlert(db, shelf.Clock).RunAsync(AlertKind.JobFailed, "a", CancellationToken.None);
        shelf.Clock.Advance(TimeSpan.FromMinutes(minutes));
        await RaiseAsync(shelf, "a", "w");
        await MailAsync(shelf);
        Assert.Equal(mails, (await MailsAsync(shelf)).Count);
        // While it stands it is not forgotten: two minutes later, more than an hour after the first mail, the second goes out, once.
        shelf.Clock.Advance(TimeSpan.FromMinutes(2));
        await RaiseAsync(shelf, "a", "w");
        await MailAsync(shelf);
        await MailAsync(shelf);
        Assert.Equal(2, (await MailsAsync(shelf)).Count);
    }

    [Fact]
    public async Task Given_up_mails_are_told_by_mail_once_and_not_what_is_over_or_no_mail_could_tell()
    {
        await using var shelf = await ClaimedAsync();
        await RaiseAsync(shelf, "", "A mail could not be sent.", AlertKind.MailNotSent);
        await RaiseAsync(shelf, "waiting", "w", AlertKind.MailNotSent);
        await RaiseAsync(shelf, "MailJob", "w", AlertKind.MailNotSent);
        await RaiseAsync(shelf, "a", "w");
        await using (var db = shelf.Open())
            await new SettleAlert(db, shelf.Clock).RunAsync(AlertKind.JobFailed, "a", CancellationToken.None);
        Assert.Equal(1, await MailAsync(shelf));
        Assert.Equal(0, await MailAsync(shelf));
        Assert.StartsWith("A mail could not be sent.", Assert.Single(await MailsAsync(shelf)).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Writers_at_once_write_one_mail_and_without_a_maker_it_waits()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await RaiseAsync(shelf, "a", "w");
        Assert.Equal(0, await MailAsync(shelf));
        await ClaimAsync(shelf);
        var written = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => Task.Run(() => MailAsync(shelf))));
        Assert.Equal(1, written.Sum());
        Assert.Single(await MailsAsync(shelf));
    }

    [Fact]
    public async Task A_mail_that_can_not_be_written_leaves_the_case_unmailed()
    {
        await using var shelf = await ClaimedAsync();
        await RaiseAsync(shelf, "a", "w");
        await using (var db = shelf.Open())
        {
            db.Outbox.Add(new OutboxMail { Cause = "alert:1:1795608000000" });
            await db.SaveChangesAsync();
        }
        await Assert.ThrowsAsync<DbUpdateException>(() => MailAsync(shelf));
        await using var read = shelf.Open();
        Assert.Null((await read.Alerts.SingleAsync()).MailedAt);
    }

    private static async Task<TempShelf> ClaimedAsync()
    {
        var shelf = await TempShelf.MakeAsync();
        await ClaimAsync(shelf);
        return shelf;
    }

    private static async Task ClaimAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Tinworks", TimeZone = "Europe/Lisbon" });
        db.Users.Add(new Person { Email = "maker@tinworks.example", UserName = "maker@tinworks.example", IsMaker = true });
        db.Users.Add(new Person { Email = "wren@post.example", UserName = "wren@post.example" });
        await db.SaveChangesAsync();
    }

    private static async Task RaiseAsync(TempShelf shelf, string subject, string words, AlertKind kind = AlertKind.JobFailed)
    {
        await using var db = shelf.Open();
        await new RaiseAlert(db, shelf.Clock).RunAsync(kind, subject, words, CancellationToken.None);
    }

    private static async Task<int> MailAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await new MailAlerts(db, shelf.Clock).RunAsync("https://shelf.example", CancellationToken.None);
    }

    private static async Task<List<OutboxMail>> MailsAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await db.Outbox.AsNoTracking().ToListAsync();
    }
}
