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
}
