using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>Writes, once a version is published, one mail for each fault that it mends to who told of it.</summary>
internal static class TellOfMendedFaults
{
    /// <param name="db">With a transaction open.</param>
    /// <param name="release">Published; with its library and players.</param>
    /// <param name="desk">Where the mails are written.</param>
    /// <param name="most">How many faults at a time.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    /// <returns>How many were told; 0: none is left.</returns>
    public static async Task<int> WriteAsync(ShelfDb db, Release release, MailDesk desk, int most, CancellationToken cancellationToken)
    {
        var holds = await MendsHeld.ByAsync(db, release, cancellationToken);
        var mended = await (from f in db.FaultReports
                            where f.MendedInReleaseId != null && holds.Contains(f.MendedInReleaseId.Value) && f.ToldAt == null
                            join p in db.Users on f.PersonId equals p.Id
                            join heard in db.Releases on f.ReleaseId equals heard.Id
                            where p.Email != null
                            orderby f.Id
                            select new { Fault = f, p.Email, HeardIn = heard.Number }).Take(most).ToListAsync(cancellationToken);
        await desk.WriteAsync(mended.ConvertAll(one =>
        {
            // The version they are told of, also where another one mended it first and never came out.
            (one.Fault.MendedInReleaseId, one.Fault.ToldAt) = (release.Id, desk.Now);
            var (subject, text) = FaultMail.Mended(one.Fault, one.HeardIn, release, desk.Shop, desk.Address);
            return new WrittenMail($"mended:{one.Fault.Id}:{release.Id}", one.Email!, subject, text);
        }), cancellationToken);
        return mended.Count;
    }
}
