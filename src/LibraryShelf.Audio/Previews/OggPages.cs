using System.Buffers.Binary;
using System.Runtime.InteropServices;

namespace LibraryShelf.Audio.Previews;

/// <summary>Writes packets of one logical stream as Ogg pages (RFC 3533). No packet is parted between pages.</summary>
internal sealed class OggPages(uint serial)
{
    private const int MostSegments = 255, HeaderBytes = 27, ChecksumAt = 22;
    private const byte Beginning = 2, End = 4;

    private static readonly uint[] ChecksumTable = MakeTable();

    private readonly List<byte> file = [], segments = [], body = [];
    private uint number;

    public byte[] ToArray() => [.. file];

    /// <summary>A packet needs a segment for each 255 bytes begun, and one more when it ends on such a border.</summary>
    public bool HasRoomFor(int bytes) => segments.Count + bytes / 255 + 1 <= MostSegments;

    public void Add(ReadOnlySpan<byte> packet)
    {
        for (var left = packet.Length; ; left -= 255)
        {
            segments.Add((byte)Math.Min(left, 255));
            if (left < 255)
                break;
        }
        body.AddRange(packet);
    }

    /// <param name="granule">The stream's position after the last packet of the page.</param>
    /// <param name="isLast">Nothing follows.</param>
    public void EndPage(long granule, bool isLast)
    {
        var page = new byte[HeaderBytes + segments.Count + body.Count];
        "OggS"u8.CopyTo(page);
        page[5] = (byte)((number == 0 ? Beginning : 0) | (isLast ? End : 0));
        BinaryPrimitives.WriteInt64LittleEndian(page.AsSpan(6), granule);
        BinaryPrimitives.WriteUInt32LittleEndian(page.AsSpan(14), serial);
        BinaryPrimitives.WriteUInt32LittleEndian(page.AsSpan(18), number++);
        page[26] = (byte)segments.Count;
        segments.CopyTo(page, HeaderBytes);
        CollectionsMarshal.AsSpan(body).CopyTo(page.AsSpan(HeaderBytes + segments.Count));
        BinaryPrimitives.WriteUInt32LittleEndian(page.AsSpan(ChecksumAt), Checksum(page));
        file.AddRange(page);
        segments.Clear();
        body.Clear();
    }

    /// <summary>CRC-32 with the polynomial 0x04c11db7, from 0, not reflected, of the page with zeros where it stands itself.</summary>
    private static uint Checksum(byte[] page)
    {
        var crc = 0u;
        foreach (var one in page)
            crc = (crc << 8) ^ ChecksumTable[(byte)(crc >> 24) ^ one];
        return crc;
    }

    private static uint[] MakeTable()
    {
        var table = new uint[256];
        for (var i = 0u; i < table.Length; i++)
        {
            var crc = i << 24;
            for (var bit = 0; bit < 8; bit++)
                crc = (crc << 1) ^ ((crc & 0x80000000) != 0 ? 0x04c11db7u : 0);
            table[i] = crc;
        }
        return table;
    }
}
