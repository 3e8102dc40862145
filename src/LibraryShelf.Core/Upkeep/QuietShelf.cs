using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Persons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Makes a restored database one that may be started: another shelf may still be running, mails and drops may have gone out since, and whoever has the
/// backup has its keys. Doing it twice is no harm.
/// </summary>
internal static class QuietShelf
{
    /// <returns>How many people were deleted again, and how many mails wait.</returns>
    public static async Task<(int Deleted, int Mails)> MakeAsync(
        ShelfDb db, DateTimeOffset now, IEnumerable<(long PersonId, DateTimeOffset At)> deletions, CancellationToken cancellationToken)
    {
        await using (var transaction = await db.Database.BeginTransactionAsync(cancellationToken))
        {
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, now), cancellationToken);
            // Not rotated as at other times: a retired key goes on opening what it signed.
            await db.LinkKeys.ExecuteDeleteAsync(cancellationToken);
            await db.Downloads.Where(Download.IsOpenAt(now)).ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken);
            db.LinkKeys.Add(LinkKey.Make(now));
            // Their bytes are in no backup; the sender begins anew.
            await db.Uploads.Where(u => u.FinishedAt == null || (u.Kind == UploadKind.Zip && u.UnpackedAt == null)).ExecuteDeleteAsync(cancellationToken);
            await db.JobRuns.ExecuteDeleteAsync(cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            await transaction.CommitAsync(cancellationToken);
        }
        var deleted = await new DeleteAgain(db).RunAsync(deletions, cancellationToken);
        return (deleted, await db.Outbox.CountAsync(m => m.SentAt == null && m.GaveUpAt == null, cancellationToken));
    }
}
