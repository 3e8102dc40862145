using System.Buffers.Binary;
using System.Text;

namespace LibraryShelf.Audio.Tests.Files;

/// <summary>Builds small WAV files byte by byte, right or wrong on purpose.</summary>
internal sealed class WavBytes
{
    private readonly List<byte> body = [];

    public static WavBytes Pcm(int channels, int rate, int bits) => new WavBytes().Fmt(1, channels, rate, bits);

    public WavBytes Fmt(int tag, int channels, int rate, int bits)
    {
        var fmt = new byte[16];
        BinaryPrimitives.WriteUInt16LittleEndian(fmt, (ushort)tag);
        BinaryPrimitives.WriteUInt16LittleEndian(fmt.AsSpan(2), (ushort)channels);
        BinaryPrimitives.WriteUInt32LittleEndian(fmt.AsSpan(4), (uint)rate);
        BinaryPrimitives.WriteUInt32LittleEndian(fmt.AsSpan(8), (uint)(rate * channels * ((bits + 7) / 8)));
        BinaryPrimitives.WriteUInt16LittleEndian(fmt.AsSpan(12), (ushort)(channels * ((bits + 7) / 8)));
        BinaryPrimitives.WriteUInt16LittleEndian(fmt.AsSpan(14), (ushort)bits);
        return Chunk("fmt ", fmt);
    }

    public WavBytes Chunk(string id, byte[] content, uint? claimedSize = null)
    {
        body.AddRange(Encoding.ASCII.GetBytes(id));
        body.AddRange(BitConverter.GetBytes(claimedSize ?? (uint)content.Length));
        body.AddRange(content);
        if (content.Length % 2 == 1)
            body.Add(0);
        return this;
    }

    public WavBytes Data16(params short[] samples) => Chunk("data", [.. samples.SelectMany(BitConverter.GetBytes)]);

    public WavBytes DataFloat(params float[] samples) => Chunk("data", [.. samples.SelectMany(BitConverter.GetBytes)]);

    public byte[] File(string id = "RIFF", uint? claimedSize = null)
    {
        var content = body.ToArray();
        return [.. Encoding.ASCII.GetBytes(id), .. BitConverter.GetBytes(claimedSize ?? (uint)content.Length + 4), .. "WAVE"u8, .. content];
    }

    public RecordingFacts Read() => Read(File());

    public static RecordingFacts Read(byte[] file) => RecordingReader.Read(new MemoryStream(file));
}
