using System.Buffers;
using System.Diagnostics;
using System.IO.Pipelines;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.Win32.SafeHandles;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>Sends bytes of an archive: headers from memory, bodies from the blobs, read straight into the server's output.</summary>
/// <remarks>
/// The web server takes bytes for a client that has gone without a word (and drops them), so each piece is followed by a flush,
/// whose result alone tells whether somebody still reads. A piece counts only when it does.
/// </remarks>
internal sealed class ArchiveBody(ArchiveLayout layout, IBlobStore blobs, Handover handover, DownloadTurn? turn, PipeWriter body)
{
    /// <summary>
    /// What one client on a slow line keeps waiting in the server's memory: so much of a small piece is handed over at a time, and the server takes no
    /// more before the client has that.
    /// </summary>
    public const int Sip = 32 * 1024;

    /// <summary>Bytes let out in one turn, at first and to a client on a slow line.</summary>
    private const int SmallPiece = 64 * 1024;

    /// <summary>The same for a client that takes each piece at once: fewer turns, more bytes a second.</summary>
    private const int LargePiece = 512 * 1024;

    /// <summary>The sockets on both sides swallow some megabytes at once, whoever reads; only beyond that a client shows how fast it is.</summary>
    private const long Swallowed = 8L << 20;

    private static readonly TimeSpan AtOnce = TimeSpan.FromMilliseconds(20);

    private int piece = SmallPiece;
    private long taken;
    private TimeSpan waited;

    /// <returns>False when the client went away meanwhile.</returns>
    /// <exception cref="FileNotFoundException">A blob is missing: the answer breaks off, which the client can tell from its length.</exception>
    public async Task<bool> SendAsync(ByteRange range, CancellationToken cancellationToken)
    {
        var at = range.From;
        foreach (var slice in layout.Slices(range.From, range.To))
        {
            var sent = slice.BlobSha256 is { } sha256
                ? await SendBlobAsync(sha256, slice.Offset, slice.Count, at, cancellationToken)
                : await SendFrameAsync(slice.Bytes, cancellationToken) && Count(at, slice.Count);
            if (!sent) return false;
            at += slice.Count;
        }
        return true;
    }

    /// <summary>Bytes that are not the archive's own, such as the frame around its parts: sent, not counted.</summary>
    public async Task<bool> SendFrameAsync(ReadOnlyMemory<byte> bytes, CancellationToken cancellationToken) =>
        !(await body.WriteAsync(bytes, cancellationToken)).IsCompleted;

    private async Task<bool> SendBlobAsync(string sha256, long offset, long count, long at, CancellationToken cancellationToken)
    {
        using var file = blobs.LocalPath(sha256) is { } path ? File.OpenHandle(path, options: FileOptions.Asynchronous) : null;
        await using var stream = file is null ? blobs.Open(sha256) : null;
        stream?.Seek(offset, SeekOrigin.Begin);
        for (long sent = 0; sent < count;)
        {
            var most = (int)Math.Min(piece, count - sent);
            if (turn is not null) await turn.PaceAsync(most, cancellationToken);
            var read = piece > SmallPiece
                ? await HandOverAsync(file, stream, offset + sent, at + sent, most, cancellationToken)
                : await HandOverInSipsAsync(file, stream, offset + sent, at + sent, most, cancellationToken);
            if (read == 0) return false;
            Pace(read);
            sent += read;
        }
        return true;
    }

    /// <summary>Reads a piece straight into the server's output: one large block that is made for it and not kept.</summary>
    /// <returns>The bytes handed over; 0: the client went away meanwhile.</returns>
    private async Task<int> HandOverAsync(SafeFileHandle? file, Stream? stream, long offset, long at, int most, CancellationToken cancellationToken)
    {
        var read = await ReadAsync(file, stream, offset, body.GetMemory(most)[..most], cancellationToken);
        body.Advance(read);
        if (!await IsTakenAsync(cancellationToken)) return 0;
        Count(at, read);
        return read;
    }

    /// <summary>
    /// The same in sips, by a buffer that others have back before this client takes the bytes: the output's own small blocks are kept and used again.
    /// </summary>
    private async Task<int> HandOverInSipsAsync(SafeFileHandle? file, Stream? stream, long offset, long at, int most, CancellationToken cancellationToken)
    {
        for (var sent = 0; sent < most;)
        {
            var read = await WriteSipAsync(file, stream, offset + sent, Math.Min(Sip, most - sent), cancellationToken);
            if (!await IsTakenAsync(cancellationToken)) return 0;
            Count(at + sent, read);
            sent += read;
        }
        return most;
    }

    private async ValueTask<int> WriteSipAsync(SafeFileHandle? file, Stream? stream, long offset, int most, CancellationToken cancellationToken)
    {
        var buffer = ArrayPool<byte>.Shared.Rent(Sip);
        try
        {
            var read = await ReadAsync(file, stream, offset, buffer.AsMemory(0, most), cancellationToken);
            body.Write(buffer.AsSpan(0, read));
            return read;
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    private static async ValueTask<int> ReadAsync(SafeFileHandle? file, Stream? stream, long offset, Memory<byte> into, CancellationToken cancellationToken)
    {
        var read = file is not null ? await RandomAccess.ReadAsync(file, into, offset, cancellationToken) : await stream!.ReadAsync(into, cancellationToken);
        return read > 0 ? read : throw new InvalidDataException("A blob is shorter than it was when its release was sealed.");
    }

    /// <returns>False: the client went away meanwhile.</returns>
    private async ValueTask<bool> IsTakenAsync(CancellationToken cancellationToken)
    {
        var begun = Stopwatch.GetTimestamp();
        var flushed = await body.FlushAsync(cancellationToken);
        waited += Stopwatch.GetElapsedTime(begun);
        return !flushed.IsCompleted;
    }

    /// <summary>How large the next piece is, by how long the client took for this one.</summary>
    private void Pace(int bytes)
    {
        taken += bytes;
        piece = turn is not { IsPaced: true } && taken > Swallowed && waited < AtOnce ? Math.Min(2 * piece, LargePiece) : SmallPiece;
        waited = TimeSpan.Zero;
    }

    private bool Count(long at, long count)
    {
        handover.Add(at, count);
        return true;
    }
}
