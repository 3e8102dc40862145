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
public sealed class AppendToUpload(ShelfDb db, UploadDesk desk, FinishUpload finish)
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
            return new UploadOutcome.NoSuchUpload();
        var held = upload.FinishedAt is null ? desk.OffsetOf(uploadId) : upload.Length;
        if (offset != held)
            return new UploadOutcome.WrongOffset(held);
        if (upload.FinishedAt is null && await TakeAsync(lease, upload, held, body, checksum, cancellationToken) is { } trouble)
            return trouble;
        var now = upload.FinishedAt is null ? desk.OffsetOf(uploadId) : upload.Length;
        // Once all bytes are in, a hang-up of the sender must not leave the step half done.
        return now == upload.Length
            ? await finish.RunAsync(lease, CancellationToken.None)
            : new UploadOutcome.Open(now, upload.Length);
    }

    private static async Task<UploadOutcome?> TakeAsync(
        UploadLease lease, Upload upload, long held, Stream body, PieceChecksum? checksum, CancellationToken cancellationToken)
    {
        var hash = await lease.HashAsync(cancellationToken);
        using var piece = checksum is null ? null : IncrementalHash.CreateHash(checksum.Algorithm);
        var whole = false;
        try
        {
            var trouble = await CopyAsync(lease, upload.Length - held, body, hash, piece, cancellationToken);
            whole = trouble is null;
            if (trouble is not null)
                return trouble;
        }
        finally
        {
            // A piece that was cut can't be proved by its checksum, so it does not count.
            if (!whole && checksum is not null)
                lease.CutBackTo(held);
        }
        if (checksum is null || CryptographicOperations.FixedTimeEquals(piece!.GetHashAndReset(), checksum.Value))
            return null;
        lease.CutBackTo(held);
        return new UploadOutcome.BadChecksum(held);
    }

    private static async Task<UploadOutcome?> CopyAsync(
        UploadLease lease, long room, Stream body, RunningHash hash, IncrementalHash? piece, CancellationToken cancellationToken)
    {
        var buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
        try
        {
            await using var file = lease.OpenForAppend();
            int read;
            while ((read = await body.ReadAsync(buffer.AsMemory(0, BufferBytes), cancellationToken)) > 0)
            {
                var fits = (int)Math.Min(read, room);
                if (await WriteAsync(file, buffer.AsMemory(0, fits), cancellationToken) is { } noRoom)
                    return noRoom;
                hash.Append(buffer.AsSpan(0, fits));
                piece?.AppendData(buffer, 0, fits);
                room -= fits;
                if (fits < read)
                    return new UploadOutcome.TooLong(file.Length);
            }
            return null;
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    private static async Task<UploadOutcome?> WriteAsync(FileStream file, ReadOnlyMemory<byte> bytes, CancellationToken cancellationToken)
    {
        try
        {
            await file.WriteAsync(bytes, cancellationToken);
            return null;
        }
        catch (IOException)
        {
            return new UploadOutcome.NoRoom(file.Length, "The shelf's disk is full or refused to write. What was sent is kept. Make room, then go on from there.");
        }
    }
}
