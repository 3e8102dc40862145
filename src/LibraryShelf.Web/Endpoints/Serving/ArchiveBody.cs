using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.AspNetCore.Http.Features;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>Sends bytes of an archive: headers from memory, bodies straight from the blobs' files by the platform's file sending.</summary>
internal sealed class ArchiveBody(ArchiveLayout layout, IBlobStore blobs, Handover handover, IHttpResponseBodyFeature body)
{
    /// <summary>Bytes of a blob handed over in one go: how finely a broken-off download is counted.</summary>
    private const long Piece = 1L << 20;

    /// <exception cref="FileNotFoundException">A blob is missing: the answer breaks off, which the client can tell from its length.</exception>
    public async Task SendAsync(ByteRange range, CancellationToken cancellationToken)
    {
        var at = range.From;
        foreach (var slice in layout.Slices(range.From, range.To))
        {
            if (slice.BlobSha256 is { } sha256)
            {
                await SendBlobAsync(sha256, slice.Offset, slice.Count, at, cancellationToken);
            }
            else
            {
                await body.Stream.WriteAsync(slice.Bytes, cancellationToken);
                handover.Add(at, slice.Count);
            }
            at += slice.Count;
        }
    }

    private async Task SendBlobAsync(string sha256, long offset, long count, long at, CancellationToken cancellationToken)
    {
        var file = blobs.LocalPath(sha256);
        await using var stream = file is null ? blobs.Open(sha256) : null;
        stream?.Seek(offset, SeekOrigin.Begin);
        for (long sent = 0; sent < count; sent += Piece)
        {
            var piece = Math.Min(Piece, count - sent);
            if (file is not null) await body.SendFileAsync(file, offset + sent, piece, cancellationToken);
            else await CopyAsync(stream!, piece, cancellationToken);
            handover.Add(at + sent, piece);
        }
    }

    private async Task CopyAsync(Stream from, long count, CancellationToken cancellationToken)
    {
        var buffer = new byte[64 * 1024];
        while (count > 0)
        {
            var part = buffer.AsMemory(0, (int)Math.Min(buffer.Length, count));
            await from.ReadExactlyAsync(part, cancellationToken);
            await body.Stream.WriteAsync(part, cancellationToken);
            count -= part.Length;
        }
    }
}
