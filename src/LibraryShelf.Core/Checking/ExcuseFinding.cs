using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

public abstract record ExcuseFindingOutcome
{
    private ExcuseFindingOutcome() { }

    public sealed record Excused : ExcuseFindingOutcome;

    /// <summary>Nothing was changed; the field is Reason when it is about the reason.</summary>
    public sealed record Refused(Refusal Refusal) : ExcuseFindingOutcome;

    /// <summary>The sheet kept changing at this very moment; nothing was excused.</summary>
    public sealed record ChangedMeanwhile : ExcuseFindingOutcome;

    /// <summary>The sheet has no such finding (any more).</summary>
    public sealed record NoSuchFinding : ExcuseFindingOutcome;
}

/// <summary>Excuses a finding, with the maker's reason: it no longer holds up sealing. Giving another reason replaces the first.</summary>
public sealed class ExcuseFinding(ShelfDb db, TimeProvider clock)
{
    /// <summary>Longest reason, letters.</summary>
    public const int MaxReasonLength = 500;

    public Task<ExcuseFindingOutcome> RunAsync(long releaseId, long entryId, string? reason, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<ExcuseFindingOutcome>(
            db, () => ExcuseAsync(releaseId, entryId, reason, cancellationToken), () => new ExcuseFindingOutcome.ChangedMeanwhile());

    private async Task<ExcuseFindingOutcome> ExcuseAsync(long releaseId, long entryId, string? reason, CancellationToken cancellationToken)
    {
        reason = reason?.Trim() ?? "";
        if (reason.Length is 0 or > MaxReasonLength)
            return Refuse("Reason", reason.Length == 0
                ? T("Write a reason: it stands on the check sheet beside the finding.")
                : T($"The reason is longer than {MaxReasonLength} letters. Shorten it."));
        var release = await db.Releases.AsNoTracking().SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        var entry = await db.SheetEntries.SingleOrDefaultAsync(e => e.Id == entryId && e.ReleaseId == releaseId, cancellationToken);
        if (release is null || entry is null)
            return new ExcuseFindingOutcome.NoSuchFinding();
        if (OpenRelease.Refuse(release) is { } refusal)
            return new ExcuseFindingOutcome.Refused(refusal);
        if (entry.Severity == Severity.Fine)
            return Refuse("", T("This finding is fine as it is and needs no excuse."));
        if (!FindingCodes.CanBeExcused(entry.Code))
            return Refuse("", T("A name that some computers refuse, or that hides another file, can’t be excused: members would not get the file. Give the file another name, and send the folder again."));
        entry.ExcuseReason = reason;
        entry.ExcusedAt = clock.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        return new ExcuseFindingOutcome.Excused();
    }

    private static ExcuseFindingOutcome.Refused Refuse(string field, string words) => new(new Refusal(field, words));
}
