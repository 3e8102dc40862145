using System.Buffers.Binary;
using System.Text;

namespace LibraryShelf.Audio.Files;

/// <summary>A chunk's four letters and what its size field claims; the claim is never trusted, only compared with what came.</summary>
internal readonly record struct ChunkHeader(string Id, long ClaimedSize);

/// <summary>
/// Walks the chunks of a RIFF file, or of an IFF file with its big-endian sizes (AIFF), forwards only, so any stream will do. Odd chunks
/// are followed by one pad byte (Multimedia Programming Interface and Data Specifications 1.0, 1991, "Chunks"; EA IFF 85); a missing last
/// pad is forgiven.
/// </summary>
internal sealed class IffChunks(Stream stream, bool isBigEndian = false)
{
    private readonly byte[] header = new byte[8];
    private byte[] skipped = [];
    private long left;
    private bool pad;

    /// <summary>Bytes consumed so far, counted from the first chunk.</summary>
    public long Position { get; private set; }

    /// <summary>The current chunk claimed more bytes than the file holds.</summary>
    public bool EndedEarly { get; private set; }

    /// <summary>Goes to the next chunk, skipping what was not read of the current one; null at the end of the file.</summary>
    public ChunkHeader? Next()
    {
        Skip();
        if (EndedEarly || ReadFully(header) < header.Length)
            return null;
        var size = header.AsSpan(4);
        left = isBigEndian ? BinaryPrimitives.ReadUInt32BigEndian(size) : BinaryPrimitives.ReadUInt32LittleEndian(size);
        pad = left % 2 == 1;
        return new ChunkHeader(Encoding.Latin1.GetString(header, 0, 4), left);
    }

    /// <summary>Replaces the current chunk's claimed size: RF64 keeps the true one elsewhere, writers of unknown length leave none.</summary>
    public void ClaimSize(long size)
    {
        left = size;
        pad = size % 2 == 1 && size != long.MaxValue;
    }

    /// <summary>Fills <paramref name="buffer"/> from the current chunk; fewer bytes only when the chunk or the file ends.</summary>
    public int Read(Span<byte> buffer)
    {
        var wanted = (int)Math.Min(buffer.Length, left);
        var got = ReadFully(buffer[..wanted]);
        left -= got;
        if (got < wanted)
            End();
        return got;
    }

    /// <summary>Reads the current chunk, at most <paramref name="limit"/> bytes of it.</summary>
    public byte[] ReadAll(int limit)
    {
        var bytes = new byte[Math.Min(left, limit)];
        var got = Read(bytes);
        return got == bytes.Length ? bytes : bytes[..got];
    }

    private void Skip()
    {
        if (left > 0 && skipped.Length == 0)
            skipped = new byte[16384];
        while (left > 0 && !EndedEarly)
            Read(skipped);
        if (pad && !EndedEarly)
            ReadFully(header.AsSpan(0, 1));
        pad = false;
    }

    private void End()
    {
        EndedEarly = true;
        left = 0;
    }

    private int ReadFully(Span<byte> buffer)
    {
        var got = stream.ReadAtLeast(buffer, buffer.Length, throwOnEndOfStream: false);
        Position += got;
        return got;
    }
}
