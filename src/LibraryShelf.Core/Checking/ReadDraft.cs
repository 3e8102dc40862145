using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>A finding as a sender sees it.</summary>
public sealed record DraftFinding(string Code, Severity Severity, string? Path, string Message, bool IsExcused);

/// <summary>
/// Where a release stands on its way from a folder to a check sheet. Sizes in bytes; <paramref name="FilesMissing"/> lines wait
/// for bytes; <paramref name="CheckDone"/> of <paramref name="CheckTotal"/> recordings are measured.
/// </summary>
public sealed record DraftStanding(
    long Id, string Library, string Number, ReleaseState State,
    int Files, long Bytes, int FilesMissing,
    bool IsUnpacking, bool IsChecking, int CheckDone, int CheckTotal,
    string? Trouble, IReadOnlyList<DraftFinding> Findings);

/// <summary>Reads where a draft stands; null when there is no such release.</summary>
public sealed class ReadDraft(ShelfDb db)
{
    public async Task<DraftStanding?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId)
            .GroupBy(_ => 1)
            .Select(g => new { Count = g.Count(), Bytes = g.Sum(f => f.Size), Missing = g.Count(f => !db.Blobs.Any(b => b.Sha256 == f.Sha256)) })
            .SingleOrDefaultAsync(cancellationToken);
        var isUnpacking = await WaitingZips.Of(db, releaseId).AnyAsync(cancellationToken);
        return new DraftStanding(
            release.Id, release.Library.Slug, release.Number, release.State,
            files?.Count ?? 0, files?.Bytes ?? 0, files?.Missing ?? 0,
            isUnpacking, release.CheckAskedAt is not null, release.CheckDone, release.CheckTotal,
            release.Trouble, await FindingsAsync(release, cancellationToken));
    }

    /// <summary>The sheet of a checked release; a draft's old sheet is about other contents.</summary>
    private async Task<List<DraftFinding>> FindingsAsync(Release release, CancellationToken cancellationToken) =>
        release.State == ReleaseState.Draft
            ? []
            : await db.SheetEntries.Where(e => e.ReleaseId == release.Id).OrderBy(e => e.Order)
                .Select(e => new DraftFinding(e.Code, e.Severity, e.Path, e.Message, e.ExcuseReason != null))
                .ToListAsync(cancellationToken);
}
