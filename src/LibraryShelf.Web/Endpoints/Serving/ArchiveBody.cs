using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.AspNetCore.Http.Features;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// Sends bytes of an archive: headers from memory, bodies straight from the blobs' files by the platform's file sending.
/// </summary>
/// <remarks>
/// The web server takes bytes for a client that has gone without a word (and drops them), so each piece is followed by a flush,
/// whose result alone tells whether somebody still reads. A piece counts only when it does.
/// </remarks>
internal sealed class ArchiveBody(ArchiveLayout layout, IBlobStore blobs, Handover handover, IHttpResponseBodyFeature body)
{
    /// <summary>Bytes of a blob handed over in one go: how finely a broken-off download is counted.</summary>
    private const long Piece = 1L << 20;

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
        !(await body.Writer.WriteAsync(bytes, cancellationToken)).IsCompleted;

    private async Task<bool> SendBlobAsync(string sha256, long offset, long count, long at, CancellationToken cancellationToken)
    {
        var file = blobs.LocalPath(sha256);
        await using var stream = file is null ? blobs.Open(sha256) : null;
        stream?.Seek(offset, SeekOrigin.Begin);
        for (long sent = 0; sent < count; sent += Piece)
        {
            var piece = Math.Min(Piece, count - sent);
            if (file is not null) await body.SendFileAsync(file, offset + sent, piece, cancellationToken);
            else await CopyAsync(stream!, piece, cancellationToken);
            if ((await body.Writer.FlushAsync(cancellationToken)).IsCompleted) return false;
            Count(at + sent, piece);
        }
        return true;
    }

    private bool Count(long at, long count)
    {
        handover.Add(at, count);
        return true;
    }

    private async Task CopyAsync(Stream from, long count, CancellationToken cancellationToken)
    {
        var buffer = new byte[64 * 1024];
        while (count > 0)
        {
            var part = buffer.AsMemory(0, (int)Math.Min(buffer.Length, count));
            await from.ReadExactlyAsync(part, cancellationToken);
            await body.Writer.WriteAsync(part, cancellationToken);
            count -= part.Length;
        }
    }
}
