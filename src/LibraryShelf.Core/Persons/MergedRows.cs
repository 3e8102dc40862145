using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>Moves every table's rows from one account to another. Inside the caller's transaction; written at once.</summary>
internal sealed class MergedRows(ShelfDb db, long stays, long joins, DateTimeOffset now)
{
    public async Task MoveAsync(CancellationToken cancellationToken)
    {
        await MoveRightsAsync(cancellationToken);
        await MoveWhatWasDoneAsync(cancellationToken);
        await MoveFirstsAsync(cancellationToken);
        await MoveMoneyAsync(cancellationToken);
        await MoveMailsAsync(cancellationToken);
        await EndSignInsAsync(cancellationToken);
        await db.Users.Where(p => p.MergedIntoId == joins).ExecuteUpdateAsync(s => s.SetProperty(p => p.MergedIntoId, stays), cancellationToken);
    }

    /// <summary>Where both have the same thing, the row of the account that stays stands.</summary>
    private async Task MoveRightsAsync(CancellationToken cancellationToken)
    {
        await db.MembershipGrants.Where(g => g.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(g => g.PersonId, stays), cancellationToken);
        await db.EarlyGuests.Where(g => g.PersonId == joins && db.EarlyGuests.Any(o => o.PersonId == stays && o.ReleaseId == g.ReleaseId)).ExecuteDeleteAsync(cancellationToken);
        await db.EarlyGuests.Where(g => g.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(g => g.PersonId, stays), cancellationToken);
        await db.ImportedMembers.Where(m => m.PersonId == joins && db.ImportedMembers.Any(o => o.PersonId == stays && o.ImportId == m.ImportId)).ExecuteDeleteAsync(cancellationToken);
        await db.ImportedMembers.Where(m => m.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(m => m.PersonId, stays), cancellationToken);
    }

    private async Task MoveWhatWasDoneAsync(CancellationToken cancellationToken)
    {
        var accounts = await PersonRows.AccountsAsync(db, joins, cancellationToken);
        var downloads = db.Downloads.Where(d => EF.Parameter(accounts).Contains(d.PersonId!.Value));
        // Two who are one now were counted as two.
        await new CountedAsTwo(db).MarkAsync(downloads, cancellationToken);
        await downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, stays), cancellationToken);
        await OwnVersions.WriteAsync(db, [stays, .. accounts], cancellationToken);
        await db.FaultReports.Where(f => EF.Parameter(accounts).Contains(f.PersonId!.Value)).ExecuteUpdateAsync(s => s.SetProperty(f => f.PersonId, stays), cancellationToken);
        await db.WithdrawalNotices.Where(n => n.PersonId == joins && db.WithdrawalNotices.Any(o => o.PersonId == stays && o.ReleaseId == n.ReleaseId)).ExecuteDeleteAsync(cancellationToken);
        await db.WithdrawalNotices.Where(n => n.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(n => n.PersonId, stays), cancellationToken);
    }

    /// <summary>Of both the earlier.</summary>
    private async Task MoveFirstsAsync(CancellationToken cancellationToken)
    {
        await db.PersonFirsts.Where(f => f.PersonId == stays && db.PersonFirsts.Any(o => o.PersonId == joins && o.FreeAt < f.FreeAt)).ExecuteDeleteAsync(cancellationToken);
        await db.PersonFirsts.Where(f => f.PersonId == joins && db.PersonFirsts.Any(o => o.PersonId == stays)).ExecuteDeleteAsync(cancellationToken);
        await db.PersonFirsts.Where(f => f.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(f => f.PersonId, stays), cancellationToken);
    }

    private async Task MoveMoneyAsync(CancellationToken cancellationToken)
    {
        await db.PaidMemberships.Where(m => m.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(m => m.PersonId, stays), cancellationToken);
        await db.Payments.Where(p => p.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(p => p.PersonId, stays), cancellationToken);
        // Worked out anew by the caller.
        await db.PaidMonths.Where(m => m.PersonId == joins).ExecuteDeleteAsync(cancellationToken);
        // Both were credited for one month: each line is money owed, and names its membership; the second keeps the row it was written under.
        await db.MonthCreditLines.Where(l => l.PersonId == joins && !db.MonthCreditLines.Any(o => o.PersonId == stays && o.MonthCreditId == l.MonthCreditId))
            .ExecuteUpdateAsync(s => s.SetProperty(l => l.PersonId, stays), cancellationToken);
        // Coming back from the payment page may sign in somebody new; who has been merged is not new any more.
        await db.Joinings.Where(j => j.PersonId == joins)
            .ExecuteUpdateAsync(s => s.SetProperty(j => j.PersonId, stays).SetProperty(j => j.IsNewPerson, false), cancellationToken);
    }

    /// <summary>
    /// What one of the two wanted no mails about, nobody is mailed about. A letter both were to get is sent once: it is of the same word ("drop", "version")
    /// about the same row. Of a month that slips there can be several; which of them is told is looked at when they are sent.
    /// </summary>
    private async Task MoveMailsAsync(CancellationToken cancellationToken)
    {
        await db.MailRefusals.Where(r => r.PersonId == joins && db.MailRefusals.Any(o => o.PersonId == stays && o.Kind == r.Kind)).ExecuteDeleteAsync(cancellationToken);
        await db.MailRefusals.Where(r => r.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(r => r.PersonId, stays), cancellationToken);
        await db.Outbox.Where(m => m.PersonId == joins && m.AboutId != null && m.SentAt == null && !m.Cause.StartsWith("slip:")
                && db.Outbox.Any(o => o.PersonId == stays && o.AboutId == m.AboutId && o.Cause.Substring(0, 4) == m.Cause.Substring(0, 4)))
            .ExecuteDeleteAsync(cancellationToken);
        await db.Outbox.Where(m => m.PersonId == stays && m.AboutId != null && m.SentAt == null && !m.Cause.StartsWith("slip:")
                && db.Outbox.Any(o => o.PersonId == joins && o.SentAt != null && o.AboutId == m.AboutId && o.Cause.Substring(0, 4) == m.Cause.Substring(0, 4)))
            .ExecuteDeleteAsync(cancellationToken);
        await db.Outbox.Where(m => m.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(m => m.PersonId, stays), cancellationToken);
    }

    /// <summary>Where the other was signed in is over, and so are its links that delete: they would mean the account that stays.</summary>
    private async Task EndSignInsAsync(CancellationToken cancellationToken)
    {
        await db.Devices.Where(d => d.PersonId == joins).ExecuteDeleteAsync(cancellationToken);
        await db.UserPasskeys.Where(k => k.UserId == joins).ExecuteDeleteAsync(cancellationToken);
        await db.UserClaims.Where(c => c.UserId == joins).ExecuteDeleteAsync(cancellationToken);
        await db.UserLogins.Where(l => l.UserId == joins).ExecuteDeleteAsync(cancellationToken);
        await db.UserTokens.Where(t => t.UserId == joins).ExecuteDeleteAsync(cancellationToken);
        await db.AddressChanges.Where(c => c.PersonId == joins && c.EndedAt == null).ExecuteUpdateAsync(s => s.SetProperty(c => c.EndedAt, now), cancellationToken);
        await db.AddressChanges.Where(c => c.PersonId == joins).ExecuteUpdateAsync(s => s.SetProperty(c => c.PersonId, stays), cancellationToken);
        var address = db.Users.Where(p => p.Id == joins).Select(p => p.NormalizedEmail);
        await db.SignInTickets.Where(t => t.Purpose == SignInPurpose.DeleteMe && address.Contains(t.NormalizedEmail)).ExecuteDeleteAsync(cancellationToken);
    }
}
