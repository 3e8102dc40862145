using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Takes a complete upload into the store and the draft. Safe to repeat: a kill before the commit leaves the upload
/// complete but unfinished (or its bytes already in the store), and the next request about it comes here again.
/// </summary>
public sealed class FinishUpload(ShelfDb db, UploadDesk desk, IBlobStore store, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    /// <summary>Two files of one draft may end at the same instant; the later one looks again this often before it is a fault.</summary>
    private const int MostTries = 5;

    /// <summary>
    /// Expects all bytes to be in and the lease held; answers Finished, Mismatch, Closed, TooLarge, NoRoom, Open (bytes lost) or
    /// NoSuchUpload.
    /// </summary>
    public async Task<UploadOutcome> RunAsync(UploadLease lease, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(lease);
        var upload = await db.Uploads.AsNoTracking().SingleOrDefaultAsync(u => u.Id == lease.UploadId, cancellationToken);
        if (upload is null)
            return Gone(lease);
        if (upload.FinishedAt is not null)
            return FinishedOf(upload);
        try
        {
            return await FinishAsync(lease, upload, cancellationToken);
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is { } words)
        {
            // Bytes that have moved into the store are found there by their hash; where it could not be written down, they have not moved.
            var offset = desk.HasBytes(upload.Id) || upload.ExpectedSha256 is null ? desk.OffsetOf(upload.Id) : upload.Length;
            return new UploadOutcome.NoRoom(offset, T($"{words} {FolderRules.Shown(upload.Path)} has arrived but could not be put away; what was sent is kept. Make room on the shelf’s disk, then send again to go on."));
        }
    }

    private async Task<UploadOutcome> FinishAsync(UploadLease lease, Upload upload, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().SingleOrDefaultAsync(r => r.Id == upload.ReleaseId, cancellationToken);
        if (await WhyClosedAsync(release, upload, cancellationToken) is { } closed)
            return await DropAsync(lease, closed, cancellationToken);
        if (await HashAsync(lease, upload, cancellationToken) is not { } bytes)
            return new UploadOutcome.Open(0, upload.Length);
        if (upload.ExpectedSha256 is { } expected && expected != bytes.Sha256)
            return await DropAsync(lease, new UploadOutcome.Mismatch(MismatchWords(upload)), cancellationToken);
        if (upload.Kind == UploadKind.File && desk.HasBytes(upload.Id))
        {
            await WriteHashAsync(upload, bytes.Sha256, cancellationToken);
            await store.AdoptAsync(lease.FilePath, bytes, cancellationToken);
        }
        lease.Forget();
        for (var tries = 1; ; tries++)
        {
            try
            {
                return await CommitAsync(lease, bytes, cancellationToken);
            }
            catch (DbUpdateException e) when (tries < MostTries && DiskTrouble.WordsOf(e) is null)
            {
                // Another file of the draft, or the same bytes by another upload, was written first.
                db.ChangeTracker.Clear();
            }
        }
    }

    /// <summary>Before the bytes move: a kill or a full disk after that finds them by it. Most senders have said it.</summary>
    private async Task WriteHashAsync(Upload upload, string sha256, CancellationToken cancellationToken)
    {
        if (upload.ExpectedSha256 is not null)
            return;
        await db.Uploads.Where(u => u.Id == upload.Id).ExecuteUpdateAsync(u => u.SetProperty(x => x.ExpectedSha256, sha256), cancellationToken);
        upload.ExpectedSha256 = sha256;
    }

    /// <summary>Why the upload is too late or too much; null when it may end.</summary>
    private async Task<UploadOutcome?> WhyClosedAsync(Release? release, Upload upload, CancellationToken cancellationToken)
    {
        if (release is null)
            return new UploadOutcome.NoSuchUpload();
        if (DraftContents.WhyClosed(release) is { } closed)
            return new UploadOutcome.Closed(closed);
        return upload.Kind == UploadKind.File
            && await VersionRoom.WhyOverAsync(db, settings.Value.Intake, upload.ReleaseId, upload.Path, upload.Length, cancellationToken) is { } over
            ? new UploadOutcome.TooLarge(over)
            : null;
    }

    /// <summary>The hashes of the whole; null when the bytes are nowhere and must be sent again.</summary>
    private async Task<StoredBytes?> HashAsync(UploadLease lease, Upload upload, CancellationToken cancellationToken)
    {
        if (desk.OffsetOf(upload.Id) == upload.Length)
            return (await EnsureAsync(lease, cancellationToken)).Current();
        // Killed between the move into the store and the commit: the hash, announced or written before, says where the bytes went.
        if (desk.HasBytes(upload.Id) || upload.ExpectedSha256 is null || !store.Has(upload.ExpectedSha256))
            return null;
        await using var moved = store.Open(upload.ExpectedSha256);
        using var hash = await RunningHash.OfAsync(moved, cancellationToken);
        return hash.Position == upload.Length ? hash.Current() : null;
    }

    private static async Task<RunningHash> EnsureAsync(UploadLease lease, CancellationToken cancellationToken)
    {
        // An upload of no bytes has no file until now.
        if (!File.Exists(lease.FilePath))
            await File.Create(lease.FilePath).DisposeAsync();
        return await lease.HashAsync(cancellationToken);
    }

    private async Task<UploadOutcome> CommitAsync(UploadLease lease, StoredBytes bytes, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var upload = await db.Uploads.SingleOrDefaultAsync(u => u.Id == lease.UploadId, cancellationToken);
        if (upload is null)
            return Gone(lease);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == upload.ReleaseId, cancellationToken);
        if (await WhyClosedAsync(release, upload, cancellationToken) is { } closed)
            return await DropAsync(lease, closed, cancellationToken);
        if (upload.Kind == UploadKind.File)
        {
            await BlobRows.RecordAsync(db, [bytes], now, cancellationToken);
            await DraftContents.ClaimAsync(db, upload.ReleaseId, [bytes.Sha256], now, cancellationToken);
            await SetLineAsync(release!, upload.Path, bytes, now, cancellationToken);
        }
        upload.FinishedAt = now;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return FinishedOf(upload);
    }

    /// <summary>A planned file's line stands already; one that came without a plan or a hash is written now.</summary>
    private async Task SetLineAsync(Release release, string path, StoredBytes bytes, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var line = await db.ReleaseFiles.SingleOrDefaultAsync(f => f.ReleaseId == release.Id && f.Path == path, cancellationToken);
        if (line is not null && line.Sha256 == bytes.Sha256 && line.Size == bytes.Size)
            return;
        if (line is null)
            db.ReleaseFiles.Add(line = new ReleaseFile { ReleaseId = release.Id, Path = path });
        (line.Sha256, line.Size) = (bytes.Sha256, bytes.Size);
        DraftContents.Changed(release, now);
    }

    private async Task<UploadOutcome> DropAsync(UploadLease lease, UploadOutcome outcome, CancellationToken cancellationToken)
    {
        await db.Uploads.Where(u => u.Id == lease.UploadId).ExecuteDeleteAsync(cancellationToken);
        if (db.Database.CurrentTransaction is { } transaction)
            await transaction.CommitAsync(cancellationToken);
        lease.Forget();
        desk.DeleteBytes(lease.UploadId);
        return outcome;
    }

    /// <summary>Its row went while the lease was held here, so its bytes could not go with it.</summary>
    private UploadOutcome.NoSuchUpload Gone(UploadLease lease)
    {
        lease.Forget();
        desk.DeleteBytes(lease.UploadId);
        return new UploadOutcome.NoSuchUpload();
    }

    private static UploadOutcome.Finished FinishedOf(Upload upload) =>
        new(upload.Length, upload.ReleaseId, upload is { Kind: UploadKind.Zip, UnpackedAt: null, Trouble: null });

    private static string MismatchWords(Upload upload) =>
        T($"{FolderRules.Shown(upload.Path)} arrived with other bytes than announced: it changed while it was sent, or was damaged on the way. "
        + $"These bytes were not kept; everything else was. Send the folder again.");
}
