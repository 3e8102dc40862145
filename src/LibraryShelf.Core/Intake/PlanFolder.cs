using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

/// <summary>A line of a folder that is to be sent. Size in bytes; the hash is null when the sender can't compute one.</summary>
public sealed record PlannedFile(string Path, long Size, string? Sha256);

/// <summary>A file whose bytes the shelf lacks; <paramref name="UploadId"/> names one begun earlier that may be gone on with.</summary>
public sealed record WantedFile(string Path, long Size, string? Sha256, string? UploadId);

public abstract record PlanOutcome
{
    private PlanOutcome() { }

    /// <summary>The plan is now the draft's manifest. Of equal files only the first is wanted.</summary>
    public sealed record Planned(int Files, long Bytes, IReadOnlyList<WantedFile> Wanted) : PlanOutcome;

    public sealed record NoSuchRelease : PlanOutcome;

    /// <summary>The release is sealed or being sealed.</summary>
    public sealed record Closed(string Message) : PlanOutcome;

    /// <summary>A file breaks a rule or a limit; the draft is as it was. The path is empty when it is about the whole folder.</summary>
    public sealed record Refused(string Path, string Message) : PlanOutcome;
}

/// <summary>
/// Takes a folder's list of files as the draft's manifest, claims what the shelf already holds, and says which bytes are
/// still wanted: all in one transaction, so that "the shelf has it" stays true. Unfinished uploads that the new plan does
/// not want are ended.
/// </summary>
public sealed class PlanFolder(ShelfDb db, UploadDesk desk, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    public async Task<PlanOutcome> RunAsync(long releaseId, IReadOnlyList<PlannedFile> files, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(files);
        if (FolderRules.FirstRefused(files, settings.Value.Intake) is var (path, message))
            return new PlanOutcome.Refused(path, message);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new PlanOutcome.NoSuchRelease();
        if (DraftContents.WhyClosed(release) is { } closed)
            return new PlanOutcome.Closed(closed);
        var held = await DraftContents.HeldAsync(db, Hashes(files), cancellationToken);
        if (files.FirstOrDefault(f => f.Sha256 is not null && held.TryGetValue(f.Sha256, out var blob) && blob.Size != f.Size) is { } wrong)
            return new PlanOutcome.Refused(wrong.Path, $"{FolderRules.Shown(wrong.Path)} changed while it was read: its size and its hash don't belong together. Nothing was altered. Send the folder again.");
        await WriteAsync(release, files, held.Keys, cancellationToken);
        var (wanted, ended) = await SortUploadsAsync(releaseId, WantedOf(files, held.Keys), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        ended.ForEach(desk.DeleteBytes);
        return new PlanOutcome.Planned(files.Count, files.Sum(f => f.Size), wanted);
    }

    private async Task WriteAsync(Release release, IReadOnlyList<PlannedFile> files, IEnumerable<string> held, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        // A file whose hash the sender could not say stands in the manifest too, without one: it counts as missing until it comes.
        var lines = files.Select(f => new ReleaseFile { ReleaseId = release.Id, Path = f.Path, Sha256 = f.Sha256 ?? ReleaseFile.NotKnownYet, Size = f.Size });
        await DraftContents.ReplaceAsync(db, release.Id, lines, cancellationToken);
        await DraftContents.ClaimAsync(db, release.Id, held, now, cancellationToken);
        DraftContents.Changed(release, now);
    }

    /// <summary>Matches wanted files with uploads begun earlier and removes the rows of unfinished ones that match nothing.</summary>
    private async Task<(List<WantedFile> Wanted, List<string> Ended)> SortUploadsAsync(
        long releaseId, List<PlannedFile> wanted, CancellationToken cancellationToken)
    {
        var open = await db.Uploads
            .Where(u => u.ReleaseId == releaseId && u.Kind == UploadKind.File && u.FinishedAt == null)
            .ToListAsync(cancellationToken);
        var byHash = open.Where(u => u.ExpectedSha256 is not null)
            .GroupBy(u => u.ExpectedSha256!, StringComparer.Ordinal)
            .ToDictionary(g => g.Key, g => g.MaxBy(u => desk.OffsetOf(u.Id))!, StringComparer.Ordinal);
        var result = wanted.ConvertAll(f => new WantedFile(f.Path, f.Size, f.Sha256, Begun(f, byHash)));
        var kept = result.Select(w => w.UploadId).ToHashSet(StringComparer.Ordinal);
        var ended = open.Where(u => !kept.Contains(u.Id)).ToList();
        db.Uploads.RemoveRange(ended);
        return (result, ended.ConvertAll(u => u.Id));
    }

    private static string? Begun(PlannedFile file, Dictionary<string, Upload> byHash) =>
        file.Sha256 is not null && byHash.TryGetValue(file.Sha256, out var upload) && upload.Length == file.Size && upload.Path == file.Path
            ? upload.Id
            : null;

    private static IEnumerable<string> Hashes(IEnumerable<PlannedFile> files) => files.Where(f => f.Sha256 is not null).Select(f => f.Sha256!);

    private static List<PlannedFile> WantedOf(IEnumerable<PlannedFile> files, IEnumerable<string> held)
    {
        var known = held.ToHashSet(StringComparer.Ordinal);
        return [.. files.Where(f => f.Sha256 is null || known.Add(f.Sha256))];
    }
}
