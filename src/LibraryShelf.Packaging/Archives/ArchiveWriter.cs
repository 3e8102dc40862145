using System.Buffers;
using System.IO.Hashing;

namespace LibraryShelf.Packaging.Archives;

/// <summary>Writes any range of an archive to a stream.</summary>
public static class ArchiveWriter
{
    private const int BufferBytes = 128 * 1024;

    /// <summary>
    /// Writes the bytes [<paramref name="from"/>, <paramref name="toExclusive"/>) of the archive. A file that is written whole is
    /// held against its CRC-32 on the way: InvalidDataException when a blob is shorter than the recipe says or holds other bytes
    /// (what was written so far is then no archive).
    /// </summary>
    /// <param name="layout">The archive.</param>
    /// <param name="openBlob">Opens a blob by its SHA-256 at its start; the stream must seek, and is disposed here.</param>
    /// <param name="output">Where the bytes go; left open.</param>
    /// <param name="from">First byte, from 0.</param>
    /// <param name="toExclusive">One past the last byte, at most <see cref="ArchiveLayout.Length"/>.</param>
    /// <param name="cancellationToken">Stops between two buffers.</param>
    /// <param name="written">Told the count of bytes after each buffer; may be null.</param>
    public static async Task WriteAsync(
        ArchiveLayout layout, Func<string, Stream> openBlob, Stream output, long from, long toExclusive,
        CancellationToken cancellationToken, Action<long>? written = null)
    {
        ArgumentNullException.ThrowIfNull(layout);
        ArgumentNullException.ThrowIfNull(openBlob);
        ArgumentNullException.ThrowIfNull(output);
        foreach (var slice in layout.Slices(from, toExclusive))
        {
            if (slice.Entry is { } entry)
            {
                await using var blob = openBlob(entry.Sha256!);
                await CopyAsync(slice, entry, blob, output, written, cancellationToken);
            }
            else
            {
                await output.WriteAsync(slice.Bytes, cancellationToken);
                written?.Invoke(slice.Count);
            }
        }
    }

    private static async Task CopyAsync(
        ArchiveSlice slice, RecipeEntry entry, Stream blob, Stream output, Action<long>? written, CancellationToken cancellationToken)
    {
        var crc32 = slice.Count == entry.Size ? new Crc32() : null;
        var buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
        try
        {
            if (slice.Offset > 0)
                blob.Seek(slice.Offset, SeekOrigin.Begin);
            for (var left = slice.Count; left > 0;)
            {
                var read = await blob.ReadAsync(buffer.AsMemory(0, (int)Math.Min(left, buffer.Length)), cancellationToken);
                if (read == 0)
                    throw new InvalidDataException(T($"“{entry.Path}” is {left} bytes shorter than it was when it was hashed."));
                crc32?.Append(buffer.AsSpan(0, read));
                await output.WriteAsync(buffer.AsMemory(0, read), cancellationToken);
                written?.Invoke(read);
                left -= read;
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
        if (crc32 is not null && crc32.GetCurrentHashAsUInt32() != entry.Crc32)
            throw new InvalidDataException(T($"“{entry.Path}” no longer holds the bytes it held when it was hashed."));
    }
}
