using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>
/// What becomes of each table's rows when somebody is deleted, as docs/privacy.md says row by row. Inside the caller's transaction; written at
/// once, nothing is left for the caller to save.
/// </summary>
internal sealed class DeletedRows(ShelfDb db, PersonRows rows, DateTimeOffset now)
{
    private readonly long id = rows.Id;

    public async Task GoAsync(CancellationToken cancellationToken)
    {
        await KeepCounts.OfAsync(db, id, now, cancellationToken);
        await ForgetMailsAsync(cancellationToken);
        await ForgetRightsAsync(cancellationToken);
        await LoseThePersonAsync(cancellationToken);
        await KeepWhatWasPaidAsync(cancellationToken);
        await ForgetSignInsAsync(cancellationToken);
        await ForgetPersonAsync(cancellationToken);
    }

    private async Task ForgetMailsAsync(CancellationToken cancellationToken)
    {
        await rows.Mails(db).ExecuteDeleteAsync(cancellationToken);
        // A wish for another address was mailed there too, and that mailbox may never have said yes.
        foreach (var change in await db.AddressChanges.Where(c => c.PersonId == id).Select(c => c.Id).ToListAsync(cancellationToken))
            await db.Outbox.Where(m => m.Cause.StartsWith($"{AddressMail.Cause}{change}:")).ExecuteDeleteAsync(cancellationToken);
        await db.MailRefusals.Where(r => r.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await rows.Suppressions(db).ExecuteDeleteAsync(cancellationToken);
        await rows.Followed(db).ExecuteDeleteAsync(cancellationToken);
        await rows.Tickets(db).ExecuteDeleteAsync(cancellationToken);
        foreach (var address in rows.Written)
            await AlertAddresses.ReplaceAsync(db, address, T("somebody who has been deleted since"), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
    }

    private async Task ForgetRightsAsync(CancellationToken cancellationToken)
    {
        await db.ImportedMembers.Where(m => m.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.MembershipGrants.Where(g => g.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.EarlyGuests.Where(g => g.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.WithdrawalNotices.Where(n => n.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.PaidMonths.Where(m => m.PersonId == id).ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>Downloads go on being counted, and what sounds wrong still does; of whom, nobody knows any more. Open links close.</summary>
    private async Task LoseThePersonAsync(CancellationToken cancellationToken)
    {
        var accounts = await PersonRows.AccountsAsync(db, id, cancellationToken);
        var downloads = db.Downloads.Where(d => EF.Parameter(accounts).Contains(d.PersonId!.Value));
        await downloads.Where(Download.IsOpenAt(now)).ExecuteUpdateAsync(s => s.SetProperty(d => d.RevokedAt, now), cancellationToken);
        await downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null), cancellationToken);
        await db.FaultReports.Where(f => EF.Parameter(accounts).Contains(f.PersonId!.Value)).ExecuteUpdateAsync(s => s.SetProperty(f => f.PersonId, (long?)null), cancellationToken);
        await OwnVersions.WriteAsync(db, accounts, cancellationToken);
    }

    /// <summary>Payments, what they paid for, and what was agreed stay under a row without a name. What led to no payment goes.</summary>
    private async Task KeepWhatWasPaidAsync(CancellationToken cancellationToken)
    {
        await db.LeaveTickets.Where(t => db.PaidMemberships.Any(m => m.Id == t.PaidMembershipId && m.PersonId == id)).ExecuteDeleteAsync(cancellationToken);
        await rows.Joinings(db).Where(j => j.PaidAt == null).ExecuteDeleteAsync(cancellationToken);
        foreach (var joining in await rows.Joinings(db).ToListAsync(cancellationToken))
            joining.Forget(id);
        await db.SaveChangesAsync(cancellationToken);
    }

    private async Task ForgetSignInsAsync(CancellationToken cancellationToken)
    {
        await db.Devices.Where(d => d.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.AddressChanges.Where(c => c.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.UserClaims.Where(c => c.UserId == id).ExecuteDeleteAsync(cancellationToken);
        await db.UserLogins.Where(l => l.UserId == id).ExecuteDeleteAsync(cancellationToken);
        await db.UserTokens.Where(t => t.UserId == id).ExecuteDeleteAsync(cancellationToken);
        await db.UserPasskeys.Where(k => k.UserId == id).ExecuteDeleteAsync(cancellationToken);
    }

    private async Task ForgetPersonAsync(CancellationToken cancellationToken)
    {
        await db.Users.Where(p => p.MergedIntoId == id).ExecuteDeleteAsync(cancellationToken);
        if (await db.PaidMemberships.AnyAsync(m => m.PersonId == id, cancellationToken) || await db.Payments.AnyAsync(p => p.PersonId == id, cancellationToken))
        {
            People.Empty(await db.Users.SingleAsync(p => p.Id == id, cancellationToken), now);
            await db.SaveChangesAsync(cancellationToken);
            return;
        }
        await rows.Joinings(db).ExecuteDeleteAsync(cancellationToken);
        await db.Users.Where(p => p.Id == id).ExecuteDeleteAsync(cancellationToken);
    }
}
