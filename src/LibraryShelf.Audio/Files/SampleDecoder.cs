using System.Buffers.Binary;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace LibraryShelf.Audio.Files;

/// <summary>Turns little-endian samples into doubles where full scale is 1: a whole number of b bits is divided by 2^(b−1), exactly.</summary>
internal static class SampleDecoder
{
    /// <summary>Decodes as many whole samples as <paramref name="bytes"/> holds; returns their number.</summary>
    public static int Decode(SampleCoding coding, ReadOnlySpan<byte> bytes, Span<double> samples) => coding switch
    {
        SampleCoding.Unsigned8 => FromUnsigned8(bytes, samples),
        SampleCoding.Signed8 => FromSigned8(bytes, samples),
        SampleCoding.Integer16 => FromInteger16(MemoryMarshal.Cast<byte, short>(bytes), samples),
        SampleCoding.Integer24 => FromInteger24(bytes, samples),
        SampleCoding.Integer32 => FromInteger32(MemoryMarshal.Cast<byte, int>(bytes), samples),
        SampleCoding.Float32 => FromFloat32(MemoryMarshal.Cast<byte, float>(bytes), samples),
        _ => FromFloat64(MemoryMarshal.Cast<byte, double>(bytes), samples),
    };

    private static int FromUnsigned8(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        for (var i = 0; i < bytes.Length; i++)
            samples[i] = (bytes[i] - 128) * (1 / 128.0);
        return bytes.Length;
    }

    private static int FromSigned8(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        for (var i = 0; i < bytes.Length; i++)
            samples[i] = (sbyte)bytes[i] * (1 / 128.0);
        return bytes.Length;
    }

    private static int FromInteger16(ReadOnlySpan<short> wholes, Span<double> samples)
    {
        samples = samples[..wholes.Length];
        for (var i = 0; i < samples.Length; i++)
            samples[i] = wholes[i] * (1 / 32768.0);
        return wholes.Length;
    }

    /// <summary>Each sample is the upper three bytes of four; only the first has none before it.</summary>
    private static int FromInteger24(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 3;
        if (count == 0)
            return 0;
        samples = samples[..count];
        samples[0] = (bytes[0] | bytes[1] << 8 | (sbyte)bytes[2] << 16) * (1 / 8388608.0);
        ref var at = ref MemoryMarshal.GetReference(bytes);
        for (var i = 1; i < samples.Length; i++)
            samples[i] = (Unsafe.ReadUnaligned<int>(ref Unsafe.Add(ref at, 3 * i - 1)) >> 8) * (1 / 8388608.0);
        return count;
    }

    private static int FromInteger32(ReadOnlySpan<int> wholes, Span<double> samples)
    {
        samples = samples[..wholes.Length];
        for (var i = 0; i < samples.Length; i++)
            samples[i] = wholes[i] * (1 / 2147483648.0);
        return wholes.Length;
    }

    private static int FromFloat32(ReadOnlySpan<float> floats, Span<double> samples)
    {
        samples = samples[..floats.Length];
        for (var i = 0; i < samples.Length; i++)
            samples[i] = floats[i];
        return floats.Length;
    }

    private static int FromFloat64(ReadOnlySpan<double> doubles, Span<double> samples)
    {
        doubles.CopyTo(samples);
        return doubles.Length;
    }

    /// <summary>Turns each sample's bytes round, in place: big-endian becomes little-endian.</summary>
    public static void Reverse(Span<byte> bytes, int bytesPerSample)
    {
        switch (bytesPerSample)
        {
            case 2:
                var shorts = MemoryMarshal.Cast<byte, short>(bytes);
                BinaryPrimitives.ReverseEndianness(shorts, shorts);
                break;
            case 3:
                for (var i = 0; i + 2 < bytes.Length; i += 3)
                    (bytes[i], bytes[i + 2]) = (bytes[i + 2], bytes[i]);
                break;
            case 4:
                var ints = MemoryMarshal.Cast<byte, int>(bytes);
                BinaryPrimitives.ReverseEndianness(ints, ints);
                break;
            case 8:
                var longs = MemoryMarshal.Cast<byte, long>(bytes);
                BinaryPrimitives.ReverseEndianness(longs, longs);
                break;
        }
    }
}
