using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Gives an unsealed release another number.</summary>
public sealed class RenumberRelease(ShelfDb db)
{
    public Task<EditOutcome> RunAsync(long releaseId, string number, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => RenumberAsync(releaseId, number, cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> RenumberAsync(long releaseId, string number, CancellationToken cancellationToken)
    {
        var release = await db.Releases.FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new EditOutcome.Missing();
        if (OpenRelease.Refuse(release) is { } frozen)
            return new EditOutcome.Refused(frozen);
        var taken = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.Id != releaseId)
            .Select(r => r.Number).ToListAsync(cancellationToken);
        number = number.Trim();
        if (ReleaseNumbers.Refuse(number, taken) is { } refusal)
            return new EditOutcome.Refused(refusal);

        release.Number = number;
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved();
    }
}
