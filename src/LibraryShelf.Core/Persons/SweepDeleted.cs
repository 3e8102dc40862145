using LibraryShelf.Core.Data;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Persons;

/// <summary>
/// Removes what was kept of deleted people's payments once its time is over, and takes the person off what a page that was still open wrote after
/// they were deleted or merged.
/// </summary>
public sealed class SweepDeleted(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <returns>How many people's last rows went.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        await TidyAsync(cancellationToken);
        var kept = KeptPayments.KeptSince(clock.GetUtcNow(), settings.Value.Privacy.KeepPaymentsYears);
        var over = await db.Users.Where(p => p.DeletedAt != null && !db.Payments.Any(m => m.PersonId == p.Id && m.PaidAt >= kept))
            .OrderBy(p => p.Id).Select(p => p.Id).ToListAsync(cancellationToken);
        foreach (var id in over)
            await GoAsync(id, cancellationToken);
        return over.Count;
    }

    /// <summary>A cookie is looked at each minute, so a press may come a moment after: its row belongs to nobody, or to the account that stays.</summary>
    private async Task TidyAsync(CancellationToken cancellationToken)
    {
        await MoveMergedAsync(cancellationToken);
        // Deleting somebody has no day made anew, neither has what they pressed a moment after.
        var nobodys = await db.Downloads.Where(d => d.PersonId != null && !db.Users.Any(p => p.Id == d.PersonId && p.DeletedAt == null))
            .Select(d => d.PersonId!.Value).Distinct().ToArrayAsync(cancellationToken);
        if (nobodys.Length > 0)
            await db.Downloads.Where(d => EF.Parameter(nobodys).Contains(d.PersonId!.Value) && !db.Users.Any(p => p.Id == d.PersonId && p.DeletedAt == null))
                .ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null), cancellationToken);
        await db.FaultReports.Where(f => db.Users.Any(p => p.Id == f.PersonId && p.DeletedAt != null))
            .ExecuteUpdateAsync(s => s.SetProperty(f => f.PersonId, (long?)null), cancellationToken);
        // Of links to be deleted by that were never pressed.
        var now = clock.GetUtcNow();
        await db.SignInTickets.Where(t => t.Purpose == Accounts.SignInPurpose.DeleteMe && t.ExpiresAt < now).ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>Looked for first: an update that goes through all downloads would keep everybody else from writing for a minute.</summary>
    private async Task MoveMergedAsync(CancellationToken cancellationToken)
    {
        var merged = await db.Users.Where(p => p.MergedIntoId != null).Select(p => p.Id).ToArrayAsync(cancellationToken);
        await db.FaultReports.Where(f => EF.Parameter(merged).Contains(f.PersonId!.Value))
            .ExecuteUpdateAsync(s => s.SetProperty(f => f.PersonId, f => db.Users.Where(p => p.Id == f.PersonId).Select(p => p.MergedIntoId).FirstOrDefault()), cancellationToken);
        var downloads = db.Downloads.Where(d => EF.Parameter(merged).Contains(d.PersonId!.Value));
        if (merged.Length == 0 || !await downloads.AnyAsync(cancellationToken))
            return;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await new CountedAsTwo(db).MarkAsync(downloads, cancellationToken);
        // Somebody may have been deleted, or merged once more, since they were looked for.
        await downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, d => db.Users.Where(p => p.Id == d.PersonId).Select(p => p.MergedIntoId).FirstOrDefault()), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }

    private async Task GoAsync(long id, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var memberships = db.PaidMemberships.Where(m => m.PersonId == id);
        await db.PriceChangeLines.Where(l => memberships.Any(m => m.Id == l.PaidMembershipId)).ExecuteDeleteAsync(cancellationToken);
        await db.MonthCreditLines.Where(l => l.PersonId == id || memberships.Any(m => m.Id == l.PaidMembershipId)).ExecuteDeleteAsync(cancellationToken);
        await db.Payments.Where(p => p.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await memberships.ExecuteDeleteAsync(cancellationToken);
        await db.Joinings.Where(j => j.PersonId == id).ExecuteDeleteAsync(cancellationToken);
        await db.Users.Where(p => p.Id == id).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
    }
}
