using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// The two filters of ITU-R BS.1770-5 Annex 1: a shelf for the head, then a high-pass ("RLB"). The standard gives coefficients for 48 kHz
/// only and asks for the same response at other rates: they are derived by the bilinear transform from the analogue prototypes whose frequency,
/// Q and gain give the standard's Tables 1 and 2 at 48 kHz. Those values were worked out by B. De Man ("Evaluation of Implementations of the
/// EBU R128 Loudness Measurement", AES 145th Convention, 2018) and are those of libebur128. The tables leave the high-pass 0.04 dB of gain at
/// 48 kHz; it is kept the same at other rates, as part of the shelf's b.
/// </summary>
internal sealed record KWeighting(
    double ShelfB0, double ShelfB1, double ShelfB2, double ShelfA1, double ShelfA2, double PassA1, double PassA2)
{
    private const double ShelfHz = 1681.974450955533, ShelfDecibels = 3.999843853973347, ShelfQ = 0.7071752369554196;
    private const double ShelfExponent = 0.4996667741545416;
    private const int TableRate = 48000;
    private const double PassHz = 38.13547087602444, PassQ = 0.5003270373238773;

    /// <summary>The shelf lies at 1.68 kHz: a rate must hold it with room to spare.</summary>
    public const int LeastSampleRate = 4000;

    public static KWeighting At(int sampleRate)
    {
        var k = Math.Tan(Math.PI * ShelfHz / sampleRate);
        var high = Math.Pow(10, ShelfDecibels / 20);
        var band = Math.Pow(high, ShelfExponent);
        var a0 = 1 + k / ShelfQ + k * k;
        var p = Math.Tan(Math.PI * PassHz / sampleRate);
        var pass0 = PassDivisor(p);
        var gain = PassDivisor(Math.Tan(Math.PI * PassHz / TableRate)) / pass0 / a0;
        return new KWeighting(
            (high + band * k / ShelfQ + k * k) * gain, 2 * (k * k - high) * gain, (high - band * k / ShelfQ + k * k) * gain,
            2 * (k * k - 1) / a0, (1 - k / ShelfQ + k * k) / a0,
            2 * (p * p - 1) / pass0, (1 - p / PassQ + p * p) / pass0);
    }

    private static double PassDivisor(double p) => 1 + p / PassQ + p * p;
}

/// <summary>K-weights one channel, or two at once, of interleaved frames, and sums the squares.</summary>
/// <param name="k">The filters at the recording's rate.</param>
/// <param name="offset">The first of its channels, from 0.</param>
/// <param name="stride">Channels in a frame.</param>
/// <param name="isPair">It takes two channels.</param>
internal sealed class KWeightedPair(KWeighting k, int offset, int stride, bool isPair)
{
    /// <summary>Far below anything heard: what is left in a filter then is let go, because numbers near the least are slow.</summary>
    private const double Nothing = 1e-30;

    private Vector128<double> x1, x2, y1, y2, z1, z2;

    public int Offset => offset;

    public bool IsPair => isPair;

    /// <summary>
    /// The sum of squares of each channel. In direct form I only one multiplication and one subtraction wait for the sample before.
    /// </summary>
    public Vector128<double> Take(ReadOnlySpan<double> frames)
    {
        var (b0, b1, b2) = (Vector128.Create(k.ShelfB0), Vector128.Create(k.ShelfB1), Vector128.Create(k.ShelfB2));
        var (a1, a2) = (Vector128.Create(k.ShelfA1), Vector128.Create(k.ShelfA2));
        var (c1, c2) = (Vector128.Create(k.PassA1), Vector128.Create(k.PassA2));
        var (p1, p2, q1, q2, r1, r2) = (x1, x2, y1, y2, z1, z2);
        var energy = Vector128<double>.Zero;
        ref var first = ref MemoryMarshal.GetReference(frames);
        var end = frames.Length - (isPair ? 1 : 0);
        for (var at = offset; at < end; at += stride)
        {
            var x = isPair ? Vector128.LoadUnsafe(ref first, (nuint)at) : Vector128.CreateScalar(Unsafe.Add(ref first, at));
            var y = b0 * x + (b1 * p1 + (b2 * p2 - a2 * q2)) - a1 * q1;
            var z = y - (q1 + q1) + (q2 - c2 * r2) - c1 * r1;
            energy += z * z;
            (p2, p1, q2, q1, r2, r1) = (p1, x, q1, y, r1, z);
        }
        (x1, x2, y1, y2, z1, z2) = (p1, p2, q1, q2, r1, r2);
        return energy;
    }

    public void LetGo()
    {
        var rest = Vector128.Max(Vector128.Max(Vector128.Abs(y1), Vector128.Abs(y2)), Vector128.Max(Vector128.Abs(z1), Vector128.Abs(z2)));
        if (Vector128.LessThanAll(rest, Vector128.Create(Nothing)))
            (y1, y2, z1, z2) = (default, default, default, default);
    }
}
