using System.IO.Compression;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

public abstract record UnpackOutcome
{
    private UnpackOutcome() { }

    /// <summary>The zip's files are the draft's contents, now or since an earlier run.</summary>
    public sealed record Unpacked(long ReleaseId) : UnpackOutcome;

    /// <summary>Refused or stopped, now or earlier; <see cref="Upload.Trouble"/> says why and the draft is as it was.</summary>
    public sealed record Refused : UnpackOutcome;

    /// <summary>
    /// There is no room, or the disk refused. The zip is kept and stands as waiting, so the next sweep tries again; the release says so and the draft is
    /// as it was.
    /// </summary>
    public sealed record Waiting(string Reason) : UnpackOutcome;

    /// <summary>Its release was discarded; nothing is left to do but to clear its bytes.</summary>
    public sealed record Abandoned : UnpackOutcome;

    /// <summary>No such finished zip, or it is in use at this moment.</summary>
    public sealed record NotReady : UnpackOutcome;
}

/// <summary>
/// Stores each file of an uploaded zip by its hash, then makes the zip's list the draft's manifest in one transaction. A zip
/// that breaks a rule is refused as a whole. The zip's own bytes stay until <see cref="ClearUpload"/>.
/// </summary>
public sealed class UnpackZip(ShelfDb db, UploadDesk desk, IBlobStore store, DiskReserve reserve, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    /// <summary>A file of the draft may end while the list is compared; then it is compared anew, this often.</summary>
    private const int MostTries = 5;

    public async Task<UnpackOutcome> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (!UploadDesk.IsId(uploadId))
            return new UnpackOutcome.NotReady();
        using var lease = desk.TryTake(uploadId);
        var upload = await db.Uploads.AsNoTracking().Where(u => u.Id == uploadId && u.Kind == UploadKind.Zip).SingleOrDefaultAsync(cancellationToken);
        if (lease is null || upload?.FinishedAt is null)
            return new UnpackOutcome.NotReady();
        if (upload.UnpackedAt is not null)
            return new UnpackOutcome.Unpacked(upload.ReleaseId);
        if (upload.Trouble is not null)
            return new UnpackOutcome.Refused();
        var files = new List<(string Path, StoredBytes Bytes)>();
        var notes = new ProgressNotes(db, clock, ProgressNotes.Unpack(uploadId));
        try
        {
            await StoreAllAsync(upload, files, notes, cancellationToken);
            return await CommitAsync(upload, files, cancellationToken);
        }
        catch (UnpackStoppedException)
        {
            db.ChangeTracker.Clear();
            // Known, so that whoever sends the folder itself sends only the rest.
            await DiskTrouble.TryAsync(() => RecordAsync(files, cancellationToken));
            return await EndedAsync(uploadId, cancellationToken);
        }
        catch (ZipRefusedException refused)
        {
            return await RefuseAsync(upload, refused.Message, cancellationToken);
        }
        catch (Exception e) when (e is InvalidDataException or EndOfStreamException or ArgumentException or NotSupportedException)
        {
            return await RefuseAsync(upload, T("It can’t be read as a zip; it may be cut short or made in a way this shelf does not read. Zip the folder anew, or send the folder itself."), cancellationToken);
        }
        catch (FileNotFoundException)
        {
            return await RefuseAsync(upload, T("Its bytes are gone from the shelf’s disk. Send the zip again."), cancellationToken);
        }
        catch (NoRoomException full)
        {
            // Known to the next try, which then needs room for the others alone.
            await DiskTrouble.TryAsync(() => RecordAsync(files, cancellationToken));
            return await WaitAsync(upload, full.Message, cancellationToken);
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is { } words)
        {
            return await WaitAsync(upload, words, cancellationToken);
        }
        finally
        {
            await notes.EndAsync();
        }
    }

    private async Task<UnpackOutcome> EndedAsync(string uploadId, CancellationToken cancellationToken) =>
        await db.Uploads.AnyAsync(u => u.Id == uploadId, cancellationToken) ? new UnpackOutcome.Refused() : new UnpackOutcome.Abandoned();

    private async Task StoreAllAsync(Upload upload, List<(string Path, StoredBytes Bytes)> files, ProgressNotes notes, CancellationToken cancellationToken)
    {
        var limits = settings.Value.Intake;
        await using var bytes = desk.Open(upload.Id);
        // Folders and what systems drop beside each file are entries too.
        ZipStructure.Guard(bytes, mostEntries: (int)Math.Min((4L * limits.MaxFiles) + 1000, int.MaxValue));
        bytes.Position = 0;
        await using var zip = await ZipArchive.CreateAsync(bytes, ZipArchiveMode.Read, leaveOpen: false, entryNameEncoding: null, cancellationToken);
        var listed = ZipListing.Read(zip, limits);
        var room = limits.MaxReleaseBytes;
        var need = await NeedAsync(listed, cancellationToken);
        var (unpacked, all) = (0L, listed.Sum(f => f.Entry.Length));
        await GoOnAsync(0, cancellationToken);
        foreach (var (path, entry) in listed)
        {
            if (reserve.WhyNoFiles(need) is { } full)
                throw new NoRoomException(full);
            var stored = await StoreAsync(path, entry, Math.Min(room, limits.MaxUploadBytes), GoOnAsync, cancellationToken);
            room -= stored.Size;
            need = Math.Max(0, need - entry.Length);
            files.Add((path, stored));
        }

        async Task GoOnAsync(int read, CancellationToken ct)
        {
            unpacked += read;
            if (await notes.SayAsync(new Progress(files.Count, listed.Count, Math.Min(unpacked, all), all), ct)
                && !await db.Uploads.AnyAsync(u => u.Id == upload.Id && u.Trouble == null, ct))
                throw new UnpackStoppedException(upload.Path);
        }
    }

    /// <summary>
    /// Bytes the files will take, as far as the zip's list tells the truth (each is held to it). Those the shelf seems to hold, by size and CRC-32, take
    /// none for long: at most the largest while it is read.
    /// </summary>
    private async Task<long> NeedAsync(List<(string Path, ZipArchiveEntry Entry)> listed, CancellationToken cancellationToken)
    {
        var held = new HashSet<(long, uint)>();
        foreach (var some in listed.Select(f => f.Entry.Crc32).Distinct().Chunk(BlobRows.Batch))
            foreach (var blob in await db.Blobs.Where(b => some.Contains(b.Crc32)).Select(b => new { b.Size, b.Crc32 }).ToListAsync(cancellationToken))
                held.Add((blob.Size, blob.Crc32));
        return listed.Where(f => held.Add((f.Entry.Length, f.Entry.Crc32))).Sum(f => f.Entry.Length);
    }

    private async Task<StoredBytes> StoreAsync(
        string path, ZipArchiveEntry entry, long room, Func<int, CancellationToken, Task> goOn, CancellationToken cancellationToken)
    {
        try
        {
            await using var content = new CountedStream(await entry.OpenAsync(cancellationToken), room, path, goOn);
            var stored = await store.PutAsync(content, cancellationToken);
            if (stored.Size != entry.Length)
                throw new ZipRefusedException(T($"{FolderRules.Shown(path)} unfolds to {stored.Size:N0} bytes, but the zip says {entry.Length:N0}. Zip the folder anew."));
            return stored.Crc32 == entry.Crc32
                ? stored
                : throw new ZipRefusedException(T($"{FolderRules.Shown(path)} is damaged: its checksum in the zip is not that of its bytes. Zip the folder anew."));
        }
        catch (Exception e) when (e is InvalidDataException or EndOfStreamException)
        {
            throw new ZipRefusedException(T($"{FolderRules.Shown(path)} can’t be unpacked: it is damaged or packed by a method this shelf does not read."), e);
        }
    }

    private async Task<UnpackOutcome> CommitAsync(Upload upload, List<(string Path, StoredBytes Bytes)> files, CancellationToken cancellationToken)
    {
        // Rows of blobs before the transaction, some at a time, so that SQLite's one writer is never held long. Should the zip be
        // refused after all, nobody uses them and they are collected.
        await RecordAsync(files, cancellationToken);
        for (var tries = 0; tries < MostTries; tries++)
        {
            db.ChangeTracker.Clear();
            if (await TryWriteAsync(upload, files, cancellationToken) is { } outcome)
                return outcome;
        }
        // The zip still waits, and the sweep comes again in a minute.
        return new UnpackOutcome.NotReady();
    }

    private async Task RecordAsync(List<(string Path, StoredBytes Bytes)> files, CancellationToken cancellationToken)
    {
        foreach (var some in files.Select(f => f.Bytes).DistinctBy(b => b.Sha256).Chunk(BlobRows.Batch))
        {
            await BlobRows.RecordAsync(db, some, clock.GetUtcNow(), cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
        }
    }

    /// <summary>Null when the draft changed between the look at it and the writing.</summary>
    private async Task<UnpackOutcome?> TryWriteAsync(Upload upload, List<(string Path, StoredBytes Bytes)> files, CancellationToken cancellationToken)
    {
        var revision = await db.Releases.Where(r => r.Id == upload.ReleaseId).Select(r => (int?)r.Revision).SingleOrDefaultAsync(cancellationToken);
        var change = await ManifestChange.FindAsync(
            db, upload.ReleaseId, files.Select(f => new ManifestRow(f.Path, f.Bytes.Sha256, f.Bytes.Size)), cancellationToken);
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == upload.ReleaseId, cancellationToken);
        if (release is null)
            return new UnpackOutcome.Abandoned();
        if (DraftContents.WhyClosed(release) is { } closed)
            throw new ZipRefusedException(closed);
        if (release.Revision != revision)
            return null;
        DraftContents.Changed(release, now);
        try
        {
            await db.SaveChangesAsync(cancellationToken);
        }
        catch (DbUpdateConcurrencyException)
        {
            return null;
        }
        await change.WriteAsync(db, release.Id, cancellationToken);
        await ManifestChange.ClaimAsync(db, release.Id, now, cancellationToken);
        if (await db.Uploads.Where(u => u.Id == upload.Id && u.Trouble == null).ExecuteUpdateAsync(u => u.SetProperty(x => x.UnpackedAt, now), cancellationToken) == 0)
            throw new UnpackStoppedException(upload.Path);
        await transaction.CommitAsync(cancellationToken);
        return new UnpackOutcome.Unpacked(release.Id);
    }

    private async Task<UnpackOutcome> RefuseAsync(Upload upload, string why, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        var words = T($"{FolderRules.Shown(upload.Path)} was not unpacked, and the draft is as it was. {why}");
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // Stopped meanwhile: the words that say so stay.
        if (await db.Uploads.Where(u => u.Id == upload.Id && u.Trouble == null).ExecuteUpdateAsync(u => u.SetProperty(x => x.Trouble, words), cancellationToken) == 0)
            return await EndedAsync(upload.Id, cancellationToken);
        // On the release too, where the maker reads it until the contents change.
        await db.Releases.Where(r => r.Id == upload.ReleaseId && r.SealedAt == null)
            .ExecuteUpdateAsync(r => r.SetProperty(x => x.Trouble, words), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new UnpackOutcome.Refused();
    }

    /// <summary>What passes by itself does not undo what the maker sent: only the release's words change, and only when they are new.</summary>
    private async Task<UnpackOutcome> WaitAsync(Upload upload, string why, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        var words = T($"{FolderRules.Shown(upload.Path)} has arrived but could not be unpacked yet, and the draft is as it was. {why} "
            + $"The zip is kept. Make room on the shelf’s disk: the unpacking is tried again each minute by itself.");
        // A full disk may refuse these words too; the row still says waiting, and the next try says them. Stopped meanwhile, the words that say so stay.
        await DiskTrouble.TryAsync(() => db.Releases
            .Where(r => r.Id == upload.ReleaseId && r.SealedAt == null && (r.Trouble == null || r.Trouble != words) && db.Uploads.Any(u => u.Id == upload.Id && u.Trouble == null))
            .ExecuteUpdateAsync(r => r.SetProperty(x => x.Trouble, words), cancellationToken));
        var isWaiting = true;
        await DiskTrouble.TryAsync(async () => isWaiting = await db.Uploads.AnyAsync(u => u.Id == upload.Id && u.Trouble == null, cancellationToken));
        return isWaiting ? new UnpackOutcome.Waiting(words) : await EndedAsync(upload.Id, cancellationToken);
    }
}

/// <summary>Somebody stopped it, or discarded its release, while it ran.</summary>
internal sealed class UnpackStoppedException(string message) : Exception(message);
