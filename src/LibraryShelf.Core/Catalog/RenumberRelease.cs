using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// Gives an unsealed release another number. One that is smaller than what changed asks for wants a reason, which stays with the release.
/// </summary>
public sealed class RenumberRelease(ShelfDb db)
{
    public const string WhyField = "Why";
    public const int MaxWhy = 1_000;

    public Task<EditOutcome> RunAsync(long releaseId, string number, string? why, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => RenumberAsync(releaseId, number.Trim(), why?.Trim() ?? "", cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> RenumberAsync(long releaseId, string number, string why, CancellationToken cancellationToken)
    {
        var release = await db.Releases.FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new EditOutcome.Missing();
        if (OpenRelease.Refuse(release) is { } frozen)
            return new EditOutcome.Refused(frozen);
        var taken = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.Id != releaseId)
            .Select(r => r.Number).ToListAsync(cancellationToken);
        if (ReleaseNumbers.Refuse(number, taken) is { } refusal)
            return new EditOutcome.Refused(refusal);
        if (why.Length > MaxWhy)
            return new EditOutcome.Refused(new Refusal(WhyField, T($"The reason has {MaxWhy} characters at most.")));
        var known = await CurrentComparison.OfAsync(db, release, cancellationToken);
        if (CurrentComparison.NumberReason(number, why, "", known) is { } reason)
            return new EditOutcome.Refused(new Refusal(WhyField, reason));

        release.Number = number;
        var isSmaller = known is not null && CurrentComparison.IsSmaller(number, known.ProposedNumber);
        (release.WhySmallerNumber, release.WhySmallerThan) = isSmaller ? (why, known!.ProposedNumber) : ("", "");
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved();
    }
}
