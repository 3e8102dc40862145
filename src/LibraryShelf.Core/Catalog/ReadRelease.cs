using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// A release as its pages at the workbench tell it: the row with its library and players, what its folder holds and what of it
/// is still on its way (files and bytes; a zip that waits to be unpacked), and its check sheet, worst first.
/// </summary>
public sealed record ReleaseStory(
    Release Release, int Files, long Bytes, int Waiting, long WaitingBytes, bool IsUnpacking, IReadOnlyList<SheetEntry> Sheet)
{
    /// <summary>How far the unpacking is; null: none runs, or it has only just begun.</summary>
    public Progress? Unpacking { get; init; }

    public bool IsChecking => Release.CheckAskedAt is not null && !Release.IsSealed;

    public bool IsSealing => Release.SealAskedAt is not null && !Release.IsSealed;

    /// <summary>Sealed, and on its way to the shelf by the same wish; false when something keeps it from there.</summary>
    public bool IsPublishing => Release is { State: ReleaseState.Sealed, PublishAfterSealFor: not null, Trouble: null };

    /// <summary>The sheet speaks of the folder as it is now.</summary>
    public bool HasSheet => Release.State != ReleaseState.Draft;

    public int MustFix => Sheet.Count(e => e.BlocksSealing);

    public int Excused => Sheet.Count(e => e.ExcuseReason is not null);

    public int ListenAgain => Sheet.Count(e => e.Severity == Severity.ListenAgain && e.ExcuseReason is null);

    /// <summary>Recordings of which nothing worse than "fine" is said.</summary>
    public int Fine => Math.Max(0, Release.Recordings
        - Sheet.Where(e => e.Severity != Severity.Fine && e.Path is not null && FileKinds.Of(e.Path) == FileKind.Recording)
            .Select(e => e.Path).Distinct().Count());
}

/// <summary>Reads a release for its pages at the workbench; null when there is none of that id.</summary>
public sealed class ReadRelease(ShelfDb db)
{
    public async Task<ReleaseStory?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).Include(r => r.Players)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var files = db.ReleaseFiles.Where(f => f.ReleaseId == releaseId);
        var waiting = files.Where(f => !db.Blobs.Any(b => b.Sha256 == f.Sha256));
        var sheet = await db.SheetEntries.AsNoTracking().Where(e => e.ReleaseId == releaseId).ToListAsync(cancellationToken);
        var zips = await WaitingZips.Of(db, releaseId).OrderBy(u => u.CreatedAt).Select(u => u.Id).ToListAsync(cancellationToken);
        return new ReleaseStory(
            release,
            await files.CountAsync(cancellationToken), await files.SumAsync(f => f.Size, cancellationToken),
            await waiting.CountAsync(cancellationToken), await waiting.SumAsync(f => f.Size, cancellationToken),
            zips.Count > 0,
            [.. sheet.OrderBy(e => e.BlocksSealing ? 0 : 1).ThenBy(e => e.Severity).ThenBy(e => e.Order)])
        {
            Unpacking = zips.Count == 0 ? null : await ProgressNotes.ReadAsync(db, ProgressNotes.Unpack(zips[0]), cancellationToken),
        };
    }
}
