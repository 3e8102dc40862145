using System.Buffers.Binary;
using System.Numerics;
using System.Text;

namespace LibraryShelf.Audio.Tests.Files;

/// <summary>Builds small AIFF and AIFF-C files byte by byte, right or wrong on purpose.</summary>
internal sealed class AiffBytes
{
    private readonly List<byte> body = [];
    private string form = "AIFF";

    /// <summary><paramref name="kind"/> makes it AIFF-C, with an empty name of the compression.</summary>
    public AiffBytes Comm(int channels, uint frames, int bits, double rate, string? kind = null)
    {
        var comm = new byte[18];
        BinaryPrimitives.WriteUInt16BigEndian(comm, (ushort)channels);
        BinaryPrimitives.WriteUInt32BigEndian(comm.AsSpan(2), frames);
        BinaryPrimitives.WriteUInt16BigEndian(comm.AsSpan(6), (ushort)bits);
        Extended(rate).CopyTo(comm, 8);
        if (kind is null)
            return Chunk("COMM", comm);
        form = "AIFC";
        return Chunk("COMM", [.. comm, .. Encoding.ASCII.GetBytes(kind), 0, 0]);
    }

    public AiffBytes Sound(byte[] frames, uint offset = 0, uint? claimedSize = null) =>
        Chunk("SSND", [.. Big(offset), .. Big(0), .. new byte[offset], .. frames], claimedSize);

    public AiffBytes Chunk(string id, byte[] content, uint? claimedSize = null)
    {
        body.AddRange(Encoding.ASCII.GetBytes(id));
        body.AddRange(Big(claimedSize ?? (uint)content.Length));
        body.AddRange(content);
        if (content.Length % 2 == 1)
            body.Add(0);
        return this;
    }

    public byte[] File() => [.. "FORM"u8, .. Big((uint)body.Count + 4), .. Encoding.ASCII.GetBytes(form), .. body];

    public RecordingFacts Read() => Read(File());

    public static RecordingFacts Read(byte[] file) => RecordingReader.Read(new MemoryStream(file));

    public static byte[] Big(uint value)
    {
        var bytes = new byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(bytes, value);
        return bytes;
    }

    /// <summary>Whole numbers only: exponent of the highest bit, and the number shifted until that bit is the first of 64.</summary>
    private static byte[] Extended(double rate)
    {
        var whole = (ulong)rate;
        var highest = 63 - BitOperations.LeadingZeroCount(whole);
        var bytes = new byte[10];
        BinaryPrimitives.WriteUInt16BigEndian(bytes, (ushort)(16383 + highest));
        BinaryPrimitives.WriteUInt64BigEndian(bytes.AsSpan(2), whole << (63 - highest));
        return bytes;
    }
}
