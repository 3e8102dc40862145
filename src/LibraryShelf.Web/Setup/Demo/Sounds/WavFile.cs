using System.Buffers.Binary;

namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>
/// Writes a 24-bit PCM WAV with a smpl chunk (layout: Microsoft, "New Multimedia Data Types and Data Techniques", 15 April 1994).
/// The loop's end is inclusive there.
/// </summary>
internal static class WavFile
{
    private const int FormatBytes = 16;
    private const int SamplerBytes = 36;
    private const int LoopBytes = 24;

    /// <param name="frames">Interleaved, ±1 = full scale; beyond it is clipped.</param>
    /// <param name="loop">First and last frame of the loop, both sounding; null: none.</param>
    public static byte[] Write(ReadOnlySpan<double> frames, int channels, int sampleRate, int unityKey, (int First, int Last)? loop)
    {
        var samplerBytes = SamplerBytes + (loop is null ? 0 : LoopBytes);
        var dataBytes = frames.Length * 3;
        var padded = dataBytes + (dataBytes & 1);
        var file = new byte[12 + 8 + FormatBytes + 8 + samplerBytes + 8 + padded];
        var rest = Chunk(file, "RIFF", file.Length - 8);
        "WAVE"u8.CopyTo(rest);
        rest = Format(rest[4..], channels, sampleRate);
        rest = Sampler(rest, samplerBytes, sampleRate, unityKey, loop);
        rest = Chunk(rest, "data", dataBytes);
        for (var i = 0; i < frames.Length; i++)
        {
            var value = (int)Math.Floor((Math.Clamp(frames[i], -1, 1) * 8388607) + 0.5);
            rest[3 * i] = (byte)value;
            rest[(3 * i) + 1] = (byte)(value >> 8);
            rest[(3 * i) + 2] = (byte)(value >> 16);
        }
        return file;
    }

    private static Span<byte> Format(Span<byte> at, int channels, int sampleRate)
    {
        at = Chunk(at, "fmt ", FormatBytes);
        BinaryPrimitives.WriteInt16LittleEndian(at, 1);
        BinaryPrimitives.WriteInt16LittleEndian(at[2..], (short)channels);
        BinaryPrimitives.WriteInt32LittleEndian(at[4..], sampleRate);
        BinaryPrimitives.WriteInt32LittleEndian(at[8..], sampleRate * channels * 3);
        BinaryPrimitives.WriteInt16LittleEndian(at[12..], (short)(channels * 3));
        BinaryPrimitives.WriteInt16LittleEndian(at[14..], 24);
        return at[FormatBytes..];
    }

    private static Span<byte> Sampler(Span<byte> at, int bytes, int sampleRate, int unityKey, (int First, int Last)? loop)
    {
        at = Chunk(at, "smpl", bytes);
        BinaryPrimitives.WriteInt32LittleEndian(at[8..], (1_000_000_000 + (sampleRate / 2)) / sampleRate);
        BinaryPrimitives.WriteInt32LittleEndian(at[12..], unityKey);
        if (loop is { } frames)
        {
            BinaryPrimitives.WriteInt32LittleEndian(at[28..], 1);
            BinaryPrimitives.WriteInt32LittleEndian(at[(SamplerBytes + 8)..], frames.First);
            BinaryPrimitives.WriteInt32LittleEndian(at[(SamplerBytes + 12)..], frames.Last);
        }
        return at[bytes..];
    }

    private static Span<byte> Chunk(Span<byte> at, string id, int bytes)
    {
        for (var i = 0; i < 4; i++)
            at[i] = (byte)id[i];
        BinaryPrimitives.WriteInt32LittleEndian(at[4..], bytes);
        return at[8..];
    }
}
