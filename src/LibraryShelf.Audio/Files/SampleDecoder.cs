using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>Turns little-endian samples into doubles where full scale is 1: a whole number of b bits is divided by 2^(b−1), exactly.</summary>
internal static class SampleDecoder
{
    /// <summary>Decodes as many whole samples as <paramref name="bytes"/> holds; returns their number.</summary>
    public static int Decode(SampleCoding coding, ReadOnlySpan<byte> bytes, Span<double> samples) => coding switch
    {
        SampleCoding.Unsigned8 => FromUnsigned8(bytes, samples),
        SampleCoding.Integer16 => FromInteger16(bytes, samples),
        SampleCoding.Integer24 => FromInteger24(bytes, samples),
        SampleCoding.Integer32 => FromInteger32(bytes, samples),
        SampleCoding.Float32 => FromFloat32(bytes, samples),
        _ => FromFloat64(bytes, samples),
    };

    private static int FromUnsigned8(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        for (var i = 0; i < bytes.Length; i++)
            samples[i] = (bytes[i] - 128) / 128.0;
        return bytes.Length;
    }

    private static int FromInteger16(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 2;
        for (var i = 0; i < count; i++)
            samples[i] = BinaryPrimitives.ReadInt16LittleEndian(bytes[(2 * i)..]) / 32768.0;
        return count;
    }

    private static int FromInteger24(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 3;
        for (var i = 0; i < count; i++)
        {
            var at = 3 * i;
            samples[i] = (bytes[at] | bytes[at + 1] << 8 | (sbyte)bytes[at + 2] << 16) / 8388608.0;
        }
        return count;
    }

    private static int FromInteger32(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 4;
        for (var i = 0; i < count; i++)
            samples[i] = BinaryPrimitives.ReadInt32LittleEndian(bytes[(4 * i)..]) / 2147483648.0;
        return count;
    }

    private static int FromFloat32(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 4;
        for (var i = 0; i < count; i++)
            samples[i] = BinaryPrimitives.ReadSingleLittleEndian(bytes[(4 * i)..]);
        return count;
    }

    private static int FromFloat64(ReadOnlySpan<byte> bytes, Span<double> samples)
    {
        var count = bytes.Length / 8;
        for (var i = 0; i < count; i++)
            samples[i] = BinaryPrimitives.ReadDoubleLittleEndian(bytes[(8 * i)..]);
        return count;
    }
}
