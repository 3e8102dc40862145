using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>Writes, with the publishing of a version, one mail for each fault it mends to who told of it.</summary>
internal static class TellOfMendedFaults
{
    /// <summary>The release has its library and players. The caller saves the mails with its move.</summary>
    public static async Task WriteAsync(
        ShelfDb db, Release release, Shop? shop, string? shelfAddress, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var mended = await (from f in db.FaultReports
                            where f.MendedInReleaseId == release.Id && f.ToldAt == null
                            join p in db.Users on f.PersonId equals p.Id
                            join heard in db.Releases on f.ReleaseId equals heard.Id
                            where p.Email != null
                            select new { Fault = f, p.Email, HeardIn = heard.Number }).ToListAsync(cancellationToken);
        foreach (var one in mended)
        {
            var (subject, text) = FaultMail.Mended(one.Fault, one.HeardIn, release, shop, shelfAddress);
            one.Fault.ToldAt = now;
            db.Outbox.Add(new OutboxMail { Cause = $"mended:{one.Fault.Id}", To = one.Email!, Subject = subject, Text = text, CreatedAt = now });
        }
    }
}
