using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Mail;

public sealed class SweepMailsTests
{
    [Theory]
    [InlineData("sign-in:1", 30, true, "sign-in:1 wren@post.example")]
    [InlineData("sign-in:1", 31, true, "")]
    [InlineData("sign-in:1", 31, false, "")] // never sent: it could not be used any more
    [InlineData("mended:1:2", 90, true, "mended:1:2 wren@post.example")]
    [InlineData("mended:1:2", 91, true, "mended:1:2 ")] // its cause still says that it was written
    [InlineData("mended:1:2", 400, false, "mended:1:2 wren@post.example")] // waits to be sent
    public async Task To_whom_a_mail_went_is_forgotten_in_time(string cause, int days, bool isSent, string left)
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            var now = shelf.Clock.GetUtcNow();
            db.Outbox.Add(new OutboxMail { Cause = cause, To = "wren@post.example", CreatedAt = now, SentAt = isSent ? now : null });
            await db.SaveChangesAsync();
        }
        shelf.Clock.Advance(TimeSpan.FromDays(days));
        await using (var db = shelf.Open())
            await new SweepMails(db, shelf.Clock).RunAsync(CancellationToken.None);
        await using (var db = shelf.Open())
            Assert.Equal(left, string.Join(',', await db.Outbox.Select(m => m.Cause + " " + m.To).ToListAsync()));
    }

    [Theory]
    [InlineData(3, "")] // the other side's words
    [InlineData(0, "550 5.1.1 <wren@post.example> unknown")] // the shelf's own, of one left out
    public async Task What_the_other_side_said_is_forgotten_with_the_address_it_names(int attempts, string left)
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            var now = shelf.Clock.GetUtcNow();
            foreach (var to in new[] { "wren@post.example", "" }) // one that lost its address before
                db.Outbox.Add(new OutboxMail { Cause = $"mended:{to}", To = to, CreatedAt = now, GaveUpAt = now, Attempts = attempts, LastError = "550 5.1.1 <wren@post.example> unknown" });
            await db.SaveChangesAsync();
        }
        shelf.Clock.Advance(SweepMails.AddressKept + TimeSpan.FromDays(1));
        await using (var db = shelf.Open())
            await new SweepMails(db, shelf.Clock).RunAsync(CancellationToken.None);
        await using (var db = shelf.Open())
            Assert.All(await db.Outbox.ToListAsync(), m => Assert.Equal(("", left), (m.To, m.LastError ?? "")));
    }
}
