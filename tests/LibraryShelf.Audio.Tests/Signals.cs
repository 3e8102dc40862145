using System.Buffers.Binary;
using LibraryShelf.Audio.Tests.Files;

namespace LibraryShelf.Audio.Tests;

/// <summary>Synthesised sounds, as interleaved doubles, and what is measured of them (through a float WAV).</summary>
internal static class Signals
{
    public const int Rate = 48000;

    public static double[] Sine(double hz, double dbfs, double seconds, int rate = Rate, double phaseDegrees = 0) =>
        Made(seconds, rate, i => Math.Pow(10, dbfs / 20) * Math.Sin(2 * Math.PI * hz * i / rate + phaseDegrees * Math.PI / 180));

    public static double[] Silence(double seconds, int rate = Rate) => Made(seconds, rate, _ => 0);

    public static double[] Made(double seconds, int rate, Func<int, double> sample) =>
        [.. Enumerable.Range(0, (int)Math.Round(seconds * rate)).Select(sample)];

    /// <summary>The same in every channel.</summary>
    public static double[] InAll(int channels, double[] mono) => [.. mono.SelectMany(x => Enumerable.Repeat(x, channels))];

    /// <summary>One after the other in frames: channel signals of one length.</summary>
    public static double[] Interleaved(params double[][] channels) =>
        [.. Enumerable.Range(0, channels[0].Length).SelectMany(i => channels.Select(c => c[i]))];

    /// <summary>Uniform noise of this peak, from a seed.</summary>
    public static double[] Noise(double dbfs, double seconds, int seed, int rate = Rate)
    {
        var random = new Random(seed);
        return Made(seconds, rate, _ => Math.Pow(10, dbfs / 20) * (2 * random.NextDouble() - 1));
    }

    public static RecordingFacts Measure(double[] interleaved, int channels = 1, int rate = Rate)
    {
        var bytes = new byte[8 * interleaved.Length];
        for (var i = 0; i < interleaved.Length; i++)
            BinaryPrimitives.WriteDoubleLittleEndian(bytes.AsSpan(8 * i), interleaved[i]);
        return new WavBytes().Fmt(3, channels, rate, 64).Chunk("data", bytes).Read();
    }
}
