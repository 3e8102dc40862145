using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Persons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <param name="Deleted">People who were deleted again.</param>
/// <param name="Mails">Mails that wait, held, without those that the maker had stopped.</param>
/// <param name="Tokens">Upload tokens that were revoked.</param>
/// <param name="Stops">Stops of mails that were not in the backup.</param>
internal sealed record Quieted(int Deleted, int Mails, int Tokens, int Stops = 0);

/// <summary>
/// Makes a restored database one that may be started: another shelf may still be running, mails and drops may have gone out since, what opened something may
/// have been closed since, and whoever has the backup has its keys. Doing it twice is no harm.
/// </summary>
internal sealed class QuietShelf(ShelfDb db, DateTimeOffset now)
{
    internal static string OfBefore => T("It was asked for before the shelf was restored from a backup, and its link opens nothing any more.");

    public async Task<Quieted> MakeAsync(bool isTrial, IEnumerable<(long PersonId, DateTimeOffset At, string? Payer)> deletions, KeptStops? stops, CancellationToken cancellationToken)
    {
        int tokens;
        await using (var transaction = await db.Database.BeginTransactionAsync(cancellationToken))
        {
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, now).SetProperty(x => x.IsTrial, isTrial), cancellationToken);
            await CloseLinksAsync(cancellationToken);
            await EndSignInsAsync(cancellationToken);
            tokens = await db.UploadTokens.Where(t => t.RevokedAt == null).ExecuteUpdateAsync(s => s.SetProperty(t => t.RevokedAt, now), cancellationToken);
            // Their bytes are in no backup; the sender begins anew.
            await db.Uploads.Where(u => u.FinishedAt == null || (u.Kind == UploadKind.Zip && u.UnpackedAt == null)).ExecuteDeleteAsync(cancellationToken);
            await db.JobRuns.ExecuteDeleteAsync(cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            await transaction.CommitAsync(cancellationToken);
        }
        var deleted = await new DeleteAgain(db).RunAsync(deletions, cancellationToken);
        var stopped = stops is null ? 0 : await stops.ReplayAsync(db, cancellationToken);
        return new(deleted, await db.Outbox.NotStopped(db).CountAsync(m => m.SentAt == null && m.GaveUpAt == null, cancellationToken), tokens, stopped);
    }

    private async Task CloseLinksAsync(CancellationToken cancellationToken)
    {
        // Not rotated as at other times: a retired key goes on opening what it signed.
        await db.LinkKeys.ExecuteDeleteAsync(cancellationToken);
        await db.Downloads.Where(Download.IsOpenAt(now)).ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken);
        db.LinkKeys.Add(LinkKey.Make(now));
    }

    /// <summary>
    /// Everybody signs in anew. Somebody may have signed out a browser, used a link or been signed out by the maker since, and whoever has the backup can make
    /// cookies with its keys: so those go too, and are made anew at the start. Links that stop mails and links to leave go on, as long as their mails.
    /// </summary>
    private async Task EndSignInsAsync(CancellationToken cancellationToken)
    {
        await db.DataProtectionKeys.ExecuteDeleteAsync(cancellationToken);
        await db.Devices.Where(d => d.EndedAt == null).ExecuteUpdateAsync(s => s.SetProperty(d => d.EndedAt, now), cancellationToken);
        // One for all is enough: it stands nowhere but here and in cookies that nobody can read.
        var (stamp, row) = (Secrets.NewToken(), Secrets.NewToken());
        await db.Users.ExecuteUpdateAsync(s => s.SetProperty(p => p.SecurityStamp, stamp).SetProperty(p => p.ConcurrencyStamp, row), cancellationToken);
        await db.SignInTickets.Where(t => t.UsedAt == null).ExecuteUpdateAsync(s => s.SetProperty(t => t.UsedAt, now), cancellationToken);
        await db.AddressChanges.Where(c => c.EndedAt == null).ExecuteUpdateAsync(s => s.SetProperty(c => c.EndedAt, now), cancellationToken);
        // These would go at once, held or not.
        await db.Outbox.Where(m => m.SentAt == null && m.GaveUpAt == null).Where(MailKinds.IsWaitedFor).ExecuteUpdateAsync(s => s
            .SetProperty(m => m.GaveUpAt, now).SetProperty(m => m.Attempts, 0).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
            .SetProperty(m => m.Text, "").SetProperty(m => m.LastError, OfBefore), cancellationToken);
    }
}
