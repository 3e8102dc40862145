using System.Buffers.Binary;
using LibraryShelf.Audio.Tests.Files;

namespace LibraryShelf.Audio.Tests.Comparing;

/// <summary>Writes samples as a WAV file, in whole numbers or in 32-bit floats.</summary>
internal static class WavFile
{
    public static byte[] Whole(IEnumerable<long> samples, int bits, int channels, int rate)
    {
        var data = samples.SelectMany(s => Enumerable.Range(0, bits / 8).Select(b => (byte)(s >> (8 * b)))).ToArray();
        return WavBytes.Pcm(channels, rate, bits).Chunk("data", data).File();
    }

    public static byte[] Float(double[] samples, int channels, int rate)
    {
        var data = new byte[4 * samples.Length];
        for (var i = 0; i < samples.Length; i++)
            BinaryPrimitives.WriteSingleLittleEndian(data.AsSpan(4 * i), (float)samples[i]);
        return new WavBytes().Fmt(3, channels, rate, 32).Chunk("data", data).File();
    }
}
