using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Upkeep;
using Microsoft.AspNetCore.DataProtection.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>What opened something when the backup was made opens nothing on the shelf restored from it.</summary>
public sealed class QuietShelfTests
{
    [Fact]
    public async Task Everybody_signs_in_anew_and_no_token_link_or_key_of_before_is_good_for_anything()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        var wren = People.New("wren@post.example", now.AddDays(-9));
        var stamp = wren.SecurityStamp;
        await using (var db = shelf.Open())
        {
            db.AddRange(wren, new Shop { Name = "Saltmarsh" });
            await db.SaveChangesAsync();
            db.AddRange(
                LinkKey.Make(now), new DataProtectionKey { FriendlyName = "key-1", Xml = "<key/>" }, new Device { PersonId = wren.Id, SignedInAt = now, SeenAt = now },
                new SignInTicket { TokenHash = "a", Purpose = SignInPurpose.SignIn, ExpiresAt = now.AddHours(1) },
                new SignInTicket { TokenHash = "b", Purpose = SignInPurpose.RecoverMaker, ExpiresAt = now.AddHours(1) },
                new SignInTicket { TokenHash = "c", Purpose = SignInPurpose.DeleteMe, ExpiresAt = now.AddDays(1), UsedAt = now.AddDays(-1) },
                new UploadToken { Name = "studio", TokenHash = "t" }, new UploadToken { Name = "old", TokenHash = "o", RevokedAt = now.AddDays(-3) },
                new AddressChange { PersonId = wren.Id, OldTokenHash = "x", NewTokenHash = "y", ExpiresAt = now.AddDays(1) },
                Mail("sign-in:1", now), Mail("delete-me:1", now), Mail("address:1:old", now), Mail("welcome:1", now),
                new MailHold { Begins = "drop:1:", AboutId = 1, At = now }, new OutboxMail { Cause = "drop:1:1", AboutId = 1, CreatedAt = now });
            await db.SaveChangesAsync();
        }
        // One waits; the letter of a drop that was stopped does not.
        await using (var db = shelf.Open())
            Assert.Equal(new Quieted(0, 1, 1), await new QuietShelf(db, now).MakeAsync(isTrial: false, [], null, default));

        await using var quiet = shelf.Open();
        Assert.Equal(((DateTimeOffset?)now, false), await quiet.Shops.SingleAsync() is var shop ? (shop.HeldSince, shop.IsTrial) : default);
        Assert.Equal(now, (await quiet.Devices.SingleAsync()).EndedAt);
        Assert.NotEqual(stamp, (await quiet.Users.SingleAsync()).SecurityStamp);
        Assert.False(await quiet.DataProtectionKeys.AnyAsync());
        Assert.Equal([now, now, now.AddDays(-1)], await quiet.SignInTickets.OrderBy(t => t.TokenHash).Select(t => t.UsedAt!.Value).ToListAsync());
        Assert.Equal([now.AddDays(-3), now], await quiet.UploadTokens.OrderBy(t => t.TokenHash).Select(t => t.RevokedAt!.Value).ToListAsync());
        Assert.Equal(now, (await quiet.AddressChanges.SingleAsync()).EndedAt);
        Assert.Equal(["drop:1:1", "welcome:1"], await quiet.Outbox.Where(m => m.GaveUpAt == null).Select(m => m.Cause).Order().ToListAsync());
        Assert.All(await quiet.Outbox.Where(m => m.GaveUpAt != null).ToListAsync(), m => Assert.Equal(("", QuietShelf.OfBefore), (m.Text, m.LastError)));
        // Nobody failed, so nobody is alarmed.
        Assert.Equal(0, await new WatchOutbox(quiet, shelf.Clock).RunAsync(default));
    }

    private static OutboxMail Mail(string cause, DateTimeOffset now) => new() { Cause = cause, To = "wren@post.example", Text = "T", CreatedAt = now, Attempts = 1, NextTryAt = now };
}
