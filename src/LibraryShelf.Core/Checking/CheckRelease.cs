using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

public abstract record CheckReleaseOutcome
{
    private CheckReleaseOutcome() { }

    /// <summary>The sheet is written and the release is checked. Excused findings are not counted.</summary>
    public sealed record Checked(int MustFix, int ListenAgain) : CheckReleaseOutcome;

    /// <summary>Not a draft, or nobody asked.</summary>
    public sealed record NothingToDo : CheckReleaseOutcome;

    /// <summary>The maker stopped it, or its folder changed, while recordings were measured: the wish is gone. What was measured is kept.</summary>
    public sealed record CalledOff : CheckReleaseOutcome;

    /// <summary>The folder or the library's limits changed under the check: the release stays a draft. What was measured is kept.</summary>
    public sealed record FolderChanged : CheckReleaseOutcome;

    /// <summary>The check could not be done. The wish is taken back and the reason stands on the release, in words for the maker.</summary>
    public sealed record Stopped(string Reason, Exception? Fault) : CheckReleaseOutcome;
}

/// <summary>
/// Checks a draft whose maker asked for it: measures recordings that were never measured, judges the folder, writes the sheet. Safe to
/// repeat: measurements stand by content hash, and the sheet, the counts and the move to checked are one transaction.
/// </summary>
public sealed class CheckRelease(ShelfDb db, IBlobStore blobs, TimeProvider clock, KnownFacts? known = null)
{
    public async Task<CheckReleaseOutcome> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is not { State: ReleaseState.Draft, CheckAskedAt: { } askedAt })
            return new CheckReleaseOutcome.NothingToDo();
        if (await MissingFiles.CountAsync(db, releaseId, cancellationToken) is > 0 and var missing)
            return await StopAsync(releaseId, askedAt, MissingFiles.Words(missing), null, cancellationToken);
        try
        {
            var files = await ManifestAsync(releaseId, cancellationToken);
            if (await MeasureAsync(releaseId, askedAt, files, cancellationToken) is not { } facts)
                return new CheckReleaseOutcome.CalledOff();
            var sheet = Judge(release, files, facts);
            // Met by another change at each look, the wish still stands, and the sweep wakes us again.
            return await FreshEyes.LookAsync<CheckReleaseOutcome>(
                db, () => WriteAsync(release, files, sheet, cancellationToken), () => new CheckReleaseOutcome.FolderChanged());
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            return await StopAsync(releaseId, askedAt,
                T($"The check of {release.Library.Title} {release.Number} was not finished: the shelf could not read some of its stored files. Everything sent is kept. Ask for the check again; if it stops again, look at the shelf’s disk and its log."),
                fault, cancellationToken);
        }
    }

    private Task<List<ReleaseFile>> ManifestAsync(long releaseId, CancellationToken cancellationToken) =>
        db.ReleaseFiles.AsNoTracking().Where(f => f.ReleaseId == releaseId).OrderBy(f => f.Path).ToListAsync(cancellationToken);

    /// <summary>Null: nobody wants it any more.</summary>
    private async Task<Dictionary<string, RecordingFacts>?> MeasureAsync(
        long releaseId, DateTimeOffset askedAt, List<ReleaseFile> files, CancellationToken cancellationToken)
    {
        var hashes = files.Where(f => FileKinds.Of(f.Path) == FileKind.Recording).Select(f => f.Sha256).Distinct(StringComparer.Ordinal).ToList();
        var measuring = new MeasureRecordings(db, blobs, clock, known);
        return await measuring.EnsureAsync(hashes, async (done, ct) => await db.Releases
            .Where(r => r.Id == releaseId && r.CheckAskedAt == askedAt)
            .ExecuteUpdateAsync(r => r.SetProperty(x => x.CheckDone, done).SetProperty(x => x.CheckTotal, hashes.Count), ct) == 1, cancellationToken);
    }

    private CheckSheet Judge(Release release, List<ReleaseFile> files, Dictionary<string, RecordingFacts> facts)
    {
        var hashes = files.ToDictionary(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var recordings = files.Where(f => facts.ContainsKey(f.Sha256) && FileKinds.Of(f.Path) == FileKind.Recording)
            .ToDictionary(f => f.Path, f => facts[f.Sha256], StringComparer.Ordinal);
        return FolderCheck.Judge(new FolderToJudge(
            files.ConvertAll(f => new FolderFile(f.Path, f.Size)), recordings, path => ReadText(hashes.GetValueOrDefault(path)), release.Library.IsPitched)
        {
            Limits = LimitsText.TryRead(release.Library.Limits, out var limits, out _) ? limits : LibraryLimits.Default,
            Hashes = hashes,
        });
    }

    private string? ReadText(string? hash)
    {
        if (hash is null)
            return null;
        using var stream = blobs.Open(hash);
        return MappingText.Read(stream);
    }

    private async Task<CheckReleaseOutcome> WriteAsync(Release read, List<ReleaseFile> judged, CheckSheet sheet, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.Include(r => r.Library).SingleOrDefaultAsync(r => r.Id == read.Id, cancellationToken);
        if (release is not { State: ReleaseState.Draft, CheckAskedAt: not null } || release.Library.Limits != read.Library.Limits
            || !IsSame(judged, await ManifestAsync(read.Id, cancellationToken)))
            return new CheckReleaseOutcome.FolderChanged();
        var entries = await SheetWriting.ReplaceAsync(db, release, judged, sheet, read.Library.Limits, cancellationToken);
        SetCounts(release, judged, sheet.Count);
        release.MoveTo(ReleaseState.Checked, clock.GetUtcNow());
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new CheckReleaseOutcome.Checked(
            entries.Count(e => e.BlocksSealing),
            entries.Count(e => e is { Severity: Severity.ListenAgain, ExcuseReason: null }));
    }

    private static bool IsSame(List<ReleaseFile> judged, List<ReleaseFile> now) =>
        judged.Select(f => (f.Path, f.Sha256)).SequenceEqual(now.Select(f => (f.Path, f.Sha256)));

    private static void SetCounts(Release release, List<ReleaseFile> files, LibraryCount count)
    {
        release.Recordings = count.Recordings;
        release.FolderBytes = files.Sum(f => f.Size);
        release.Keys = count.Keys;
        release.LowestKey = count.LowestKey;
        release.HighestKey = count.HighestKey;
        release.Layers = count.Layers;
        release.Takes = count.Takes;
        release.Articulations = string.Join(',', count.Articulations);
        release.Trouble = null;
    }

    private async Task<CheckReleaseOutcome> StopAsync(
        long releaseId, DateTimeOffset askedAt, string reason, Exception? fault, CancellationToken cancellationToken)
    {
        await db.Releases.Where(r => r.Id == releaseId && r.CheckAskedAt == askedAt && r.State == ReleaseState.Draft).ExecuteUpdateAsync(r => r
            .SetProperty(x => x.CheckAskedAt, (DateTimeOffset?)null)
            .SetProperty(x => x.Trouble, reason)
            .SetProperty(x => x.Revision, x => x.Revision + 1), cancellationToken);
        return new CheckReleaseOutcome.Stopped(reason, fault);
    }
}
