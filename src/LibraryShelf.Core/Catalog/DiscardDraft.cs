using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// Throws an unsealed release away: its list of files, its words, its check sheet. The files themselves stay in the store until
/// it is swept, so the next release need not send them again; half-sent ones go at once. Faults it was to mend are open again.
/// </summary>
public sealed class DiscardDraft(ShelfDb db, UploadDesk desk)
{
    public Task<EditOutcome> RunAsync(long releaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => DiscardAsync(releaseId, cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> DiscardAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new EditOutcome.Missing();
        if (OpenRelease.Refuse(release) is { } frozen)
            return new EditOutcome.Refused(frozen);

        var uploads = await db.Uploads.Where(u => u.ReleaseId == releaseId).Select(u => u.Id).ToListAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // A drop that lost one of its versions here would look whole, and go out without it.
        if (await PlannedDrops.MonthOfAsync(db, releaseId, cancellationToken) is { } month)
            return new EditOutcome.Refused(new Refusal("", T($"Version {release.Number} stands in the drop of {month}. Take it out there first, then discard it.")));
        // What it was to mend is open again; the row of the release is still there, and the foreign key would only forget which it was.
        await db.FaultReports.Where(f => f.MendedInReleaseId == releaseId)
            .ExecuteUpdateAsync(s => s.SetProperty(f => f.SettledAt, (DateTimeOffset?)null).SetProperty(f => f.MendedInReleaseId, (long?)null), cancellationToken);
        // The release first: a sealing under way then fails on its revision, before anything of the release is gone.
        db.Releases.Remove(release);
        await db.SaveChangesAsync(cancellationToken);
        await db.SheetEntries.Where(e => e.ReleaseId == releaseId).ExecuteDeleteAsync(cancellationToken);
        await db.ReleaseSheets.Where(s => s.ReleaseId == releaseId).ExecuteDeleteAsync(cancellationToken);
        await db.BlobClaims.Where(c => c.ReleaseId == releaseId).ExecuteDeleteAsync(cancellationToken);
        await db.Uploads.Where(u => u.ReleaseId == releaseId).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        uploads.ForEach(desk.ClearUnlessTaken);
        return new EditOutcome.Saved();
    }
}
