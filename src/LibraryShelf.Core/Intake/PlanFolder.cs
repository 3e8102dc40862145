using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
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
/// Takes a folder's list of files as the draft's manifest, claims what the shelf already holds, and says which bytes are still
/// wanted. Unfinished uploads that the new plan does not want are ended; one without a hash, to which bytes came within
/// <see cref="StillSent"/>, belongs to somebody who sends the same folder beside this one, and goes on. "The shelf has it" stays true, because the rows are held
/// (<see cref="BlobRows"/>) before they are looked at, and the manifest, one transaction, keeps them from then on.
/// </summary>
public sealed class PlanFolder(ShelfDb db, UploadDesk desk, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    /// <summary>A file of the draft may end while the plan is prepared; then it is prepared anew, this often.</summary>
    private const int MostTries = 5;

    /// <summary>
    /// Without a hash nobody can tell whether two senders mean the same bytes, so their uploads are never joined: each sends its own, and the
    /// later one to end stands.
    /// </summary>
    public static readonly TimeSpan StillSent = TimeSpan.FromMinutes(2);

    public async Task<PlanOutcome> RunAsync(long releaseId, IReadOnlyList<PlannedFile> files, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(files);
        if (FolderRules.FirstRefused(files, settings.Value.Intake) is var (path, message))
            return new PlanOutcome.Refused(path, message);
        for (var tries = 0; tries < MostTries; tries++)
        {
            if (await TryAsync(releaseId, files, cancellationToken) is { } outcome)
                return outcome;
            db.ChangeTracker.Clear();
        }
        return new PlanOutcome.Closed(T("Somebody else is sending into this version at the same moment. Nothing was altered. Send the folder again."));
    }

    /// <summary>Prepares outside the transaction, so that SQLite's one writer is held only for the writing; null when the draft changed in between.</summary>
    private async Task<PlanOutcome?> TryAsync(long releaseId, IReadOnlyList<PlannedFile> files, CancellationToken cancellationToken)
    {
        var draft = await db.Releases.AsNoTracking().SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (draft is null)
            return new PlanOutcome.NoSuchRelease();
        if (DraftContents.WhyClosed(draft) is { } closed)
            return new PlanOutcome.Closed(closed);
        var held = await BlobRows.HoldAsync(db, Hashes(files), clock.GetUtcNow(), cancellationToken);
        if (files.FirstOrDefault(f => f.Sha256 is not null && held.TryGetValue(f.Sha256, out var blob) && blob.Size != f.Size) is { } wrong)
            return new PlanOutcome.Refused(wrong.Path, T($"{FolderRules.Shown(wrong.Path)} changed while it was read: its size and its hash don’t belong together. Nothing was altered. Send the folder again."));
        // A file whose hash the sender could not say stands in the manifest too, without one: it counts as missing until it comes.
        var change = await ManifestChange.FindAsync(
            db, releaseId, files.Select(f => new ManifestRow(f.Path, f.Sha256 ?? ReleaseFile.NotKnownYet, f.Size)), cancellationToken);
        var (wanted, ended) = await SortUploadsAsync(releaseId, WantedOf(files, held.Keys), cancellationToken);
        if (!await WriteAsync(draft, change, ended, cancellationToken))
            return null;
        ended.ForEach(desk.ClearUnlessTaken);
        return new PlanOutcome.Planned(files.Count, files.Sum(f => f.Size), wanted);
    }

    private async Task<bool> WriteAsync(Release draft, ManifestChange change, List<string> ended, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == draft.Id, cancellationToken);
        if (release?.Revision != draft.Revision || DraftContents.WhyClosed(release) is not null)
            return false;
        DraftContents.Changed(release, now);
        try
        {
            // The release first: whoever changes the draft beside us then waits, or has changed its revision.
            await db.SaveChangesAsync(cancellationToken);
        }
        catch (DbUpdateConcurrencyException)
        {
            return false;
        }
        await change.WriteAsync(db, draft.Id, cancellationToken);
        await ManifestChange.ClaimAsync(db, draft.Id, now, cancellationToken);
        foreach (var some in ended.Chunk(BlobRows.Batch))
            await db.Uploads.Where(u => some.Contains(u.Id) && u.FinishedAt == null).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }

    /// <summary>Matches wanted files with uploads begun earlier; unfinished ones that match nothing are to end.</summary>
    private async Task<(List<WantedFile> Wanted, List<string> Ended)> SortUploadsAsync(
        long releaseId, List<PlannedFile> wanted, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var open = await db.Uploads.AsNoTracking()
            .Where(u => u.ReleaseId == releaseId && u.Kind == UploadKind.File && u.FinishedAt == null)
            .ToListAsync(cancellationToken);
        var byHash = open.Where(u => u.ExpectedSha256 is not null && !UploadExpiry.IsOver(u, desk, now))
            .GroupBy(u => u.ExpectedSha256!, StringComparer.Ordinal)
            .ToDictionary(g => g.Key, g => g.MaxBy(u => desk.OffsetOf(u.Id))!, StringComparer.Ordinal);
        var result = wanted.ConvertAll(f => new WantedFile(f.Path, f.Size, f.Sha256, Begun(f, byHash)));
        var kept = result.Select(w => w.UploadId).ToHashSet(StringComparer.Ordinal);
        var places = wanted.Where(f => f.Sha256 is null).Select(f => (f.Path, f.Size)).ToHashSet();
        return (result, [.. open.Where(u => !kept.Contains(u.Id) && !IsBeingSent(u, places, now)).Select(u => u.Id)]);
    }

    private bool IsBeingSent(Upload upload, HashSet<(string Path, long Size)> places, DateTimeOffset now) =>
        upload.ExpectedSha256 is null && places.Contains((upload.Path, upload.Length)) && now - (desk.WrittenAt(upload.Id) ?? upload.CreatedAt) < StillSent;

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
