using System.Buffers;
using System.Security.Cryptography;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>A checksum sent with one piece of an upload (tus 1.0.0, checksum extension).</summary>
public sealed record PieceChecksum(HashAlgorithmName Algorithm, byte[] Value);

/// <summary>
/// Adds bytes to an upload and, with the last one, finishes it. What was written stays when the sender's connection is cut;
/// the caller then gets the cut's exception.
/// </summary>
public sealed class AppendToUpload(ShelfDb db, UploadDesk desk, FinishUpload finish, DiskReserve reserve, TimeProvider clock)
{
    private const int BufferBytes = 128 * 1024;

    public async Task<UploadOutcome> RunAsync(
        string uploadId, long offset, Stream body, PieceChecksum? checksum, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(body);
        if (!UploadDesk.IsId(uploadId))
            return new UploadOutcome.NoSuchUpload();
        using var lease = desk.TryTake(uploadId);
        if (lease is null)
            return new UploadOutcome.Busy();
        var upload = await db.Uploads.AsNoTracking().SingleOrDefaultAsync(u => u.Id == uploadId, cancellationToken);
        if (upload is null)
            return await finish.RunAsync(lease, cancellationToken);
        if (upload.FinishedAt is not null)
            return offset == upload.Length ? await finish.RunAsync(lease, cancellationToken) : new UploadOutcome.WrongOffset(upload.Length);
        if (UploadExpiry.IsOver(upload, desk, clock.GetUtcNow()))
            return new UploadOutcome.Expired();
        var outcome = await ContinueAsync(lease, upload, offset, body, checksum, cancellationToken);
        return outcome.IsUnfinished ? outcome with { ExpiresAt = UploadExpiry.Of(upload, desk) } : outcome;
    }

    private async Task<UploadOutcome> ContinueAsync(
        UploadLease lease, Upload upload, long offset, Stream body, PieceChecksum? checksum, CancellationToken cancellationToken)
    {
        var held = desk.OffsetOf(upload.Id);
        if (offset != held)
            return new UploadOutcome.WrongOffset(held);
        if (await TakeAsync(lease, upload, held, body, checksum, cancellationToken) is { } trouble)
            return trouble;
        var now = desk.OffsetOf(upload.Id);
        // Once all bytes are in, a hang-up of the sender must not leave the step half done.
        return now == upload.Length
            ? await finish.RunAsync(lease, CancellationToken.None)
            : new UploadOutcome.Open(now, upload.Length);
    }

    private async Task<UploadOutcome?> TakeAsync(
        UploadLease lease, Upload upload, long held, Stream body, PieceChecksum? checksum, CancellationToken cancellationToken)
    {
        var hash = await lease.HashAsync(cancellationToken);
        using var piece = checksum is null ? null : IncrementalHash.CreateHash(checksum.Algorithm);
        var end = new CopyEnd(IsTooLong: false, Refused: null);
        var whole = false;
        try
        {
            end = await CopyAsync(lease, upload, upload.Length - held, body, hash, piece, cancellationToken);
            whole = end is { IsTooLong: false, Refused: null };
        }
        finally
        {
            // A piece that was cut can't be proved by its checksum, so it does not count.
            if (!whole && checksum is not null)
                lease.CutBackTo(held);
        }
        if (end.Refused is { } words)
            return new UploadOutcome.NoRoom(desk.OffsetOf(upload.Id), T($"{words} What was sent so far is kept. Make room on the shelf’s disk, then go on from there."));
        if (end.IsTooLong)
            return new UploadOutcome.TooLong(desk.OffsetOf(upload.Id), upload.Length);
        if (checksum is null || CryptographicOperations.FixedTimeEquals(piece!.GetHashAndReset(), checksum.Value))
            return null;
        lease.CutBackTo(held);
        return new UploadOutcome.BadChecksum(held);
    }

    /// <summary>How the copying of a piece ended: all taken when it is not too long and the disk refused nothing.</summary>
    private readonly record struct CopyEnd(bool IsTooLong, string? Refused);

    private async Task<CopyEnd> CopyAsync(
        UploadLease lease, Upload upload, long room, Stream body, RunningHash hash, IncrementalHash? piece, CancellationToken cancellationToken)
    {
        FileStream? file = null;
        if (await DiskTrouble.TryAsync(() => Task.FromResult(file = lease.OpenForAppend())) is { } refused)
            return new CopyEnd(IsTooLong: false, refused);
        var buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
        try
        {
            await using var open = file;
            int read;
            var unasked = DiskReserve.Stretch;
            while ((read = await body.ReadAsync(buffer.AsMemory(0, BufferBytes), cancellationToken)) > 0)
            {
                var fits = (int)Math.Min(read, room);
                // Asked on the way too: others write beside it.
                if ((unasked += fits) > DiskReserve.Stretch)
                {
                    if (reserve.WhyNoUpload(upload.Path, room) is { } full)
                        return new CopyEnd(IsTooLong: false, full);
                    unasked = 0;
                }
                if (await DiskTrouble.TryAsync(() => file!.WriteAsync(buffer, 0, fits, cancellationToken)) is { } words)
                    return new CopyEnd(IsTooLong: false, words);
                hash.Append(buffer.AsSpan(0, fits));
                piece?.AppendData(buffer, 0, fits);
                room -= fits;
                if (fits < read)
                    return new CopyEnd(IsTooLong: true, null);
            }
            return new CopyEnd(IsTooLong: false, null);
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }
}
