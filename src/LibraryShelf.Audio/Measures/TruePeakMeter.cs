using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// True peak: the greatest magnitude of the signal at four times the rate, made by the interpolating filter of ITU-R BS.1770-5 Annex 2, at
/// every sample rate; a sample's own magnitude counts too, because the sound passes through it. Nothing is made up before the first sample or
/// behind the last.
/// </summary>
internal sealed class TruePeakMeter
{
    /// <summary>Samples before a stretch that are asked for: those the filter looks back on, and those that fill up a round.</summary>
    public const int LookBack = Newest + Places - 1;
    private const int Taps = 12, Half = Taps / 2, Newest = Taps - 1;

    /// <summary>Places worked out in one round.</summary>
    private const int Places = 8;

    /// <summary>Annex 2's table, the newest sample first. Phases 2 and 3 are phases 1 and 0 backwards.</summary>
    private static readonly float[] Phase0 =
    [
        0.0017089843750f, 0.0109863281250f, -0.0196533203125f, 0.0332031250000f, -0.0594482421875f, 0.1373291015625f,
        0.9721679687500f, -0.1022949218750f, 0.0476074218750f, -0.0266113281250f, 0.0148925781250f, -0.0083007812500f,
    ];
    private static readonly float[] Phase1 =
    [
        -0.0291748046875f, 0.0292968750000f, -0.0517578125000f, 0.0891113281250f, -0.1665039062500f, 0.4650878906250f,
        0.7797851562500f, -0.2003173828125f, 0.1015625000000f, -0.0582275390625f, 0.0330810546875f, -0.0189208984375f,
    ];

    /// <summary>No input of magnitude 1 comes out greater than this, so a quieter stretch can't hold the true peak.</summary>
    private static readonly double GreatestGain = Math.Max(Phase0.Sum(Math.Abs), Phase1.Sum(Math.Abs)) * 1.0001;

    /// <summary>
    /// A phase and its mirror image are the sum and the difference of an even and an odd half, so the greater of the two is |even| + |odd|. For each
    /// tap of a half: even and odd of phase 0, even and odd of phase 1, each in all lanes.
    /// </summary>
    private static readonly float[] Halves = [.. Enumerable.Range(0, Half).SelectMany(tap => new[]
    {
        (Phase0[tap] + Phase0[Newest - tap]) / 2, (Phase0[tap] - Phase0[Newest - tap]) / 2,
        (Phase1[tap] + Phase1[Newest - tap]) / 2, (Phase1[tap] - Phase1[Newest - tap]) / 2,
    }).SelectMany(half => Enumerable.Repeat(half, Vector128<float>.Count))];

    private readonly double[] before;
    private float[] scratch = [];

    public TruePeakMeter(int channels) => before = new double[channels];

    /// <summary>The greatest magnitude so far, full scale 1.</summary>
    public double Peak { get; private set; }

    /// <param name="channel">From 0.</param>
    /// <param name="samples">The stretch, after the <see cref="LookBack"/> samples before it (zeros at the start).</param>
    /// <param name="peak">The stretch's largest magnitude.</param>
    public void Take(int channel, ReadOnlySpan<double> samples, double peak)
    {
        var count = samples.Length - LookBack;
        Peak = Math.Max(Peak, peak);
        var greatest = Math.Max(peak, before[channel]);
        // A stretch shorter than the filter does not push out what was before.
        before[channel] = count >= LookBack ? peak : greatest;
        if (greatest * GreatestGain > Peak)
            Peak = Math.Max(Peak, Interpolate(samples, count));
    }

    /// <summary>In whole rounds: places before the stretch fill up the first, and can't make a new peak.</summary>
    private float Interpolate(ReadOnlySpan<double> samples, int count)
    {
        var places = (count + Places - 1) / Places * Places;
        samples = samples[^(places + Newest)..];
        if (scratch.Length < samples.Length)
            scratch = new float[samples.Length];
        Narrow(samples, scratch);
        ref var first = ref MemoryMarshal.GetReference(scratch.AsSpan());
        var greatest = Vector128<float>.Zero;
        var enough = Vector128.Create((float)(Peak / GreatestGain));
        for (var at = 0; at < places; at += Places)
            if (Vector128.GreaterThanAny(Magnitudes(ref Unsafe.Add(ref first, at)), enough))
                greatest = Vector128.MaxNative(greatest, Outputs(ref Unsafe.Add(ref first, at)));
        return Math.Max(Math.Max(greatest[0], greatest[1]), Math.Max(greatest[2], greatest[3]));
    }

    private static void Narrow(ReadOnlySpan<double> samples, Span<float> floats)
    {
        ref var from = ref MemoryMarshal.GetReference(samples);
        ref var to = ref MemoryMarshal.GetReference(floats);
        nuint at = 0;
        for (; at + 4 <= (nuint)samples.Length; at += 4)
            Vector128.Narrow(Vector128.LoadUnsafe(ref from, at), Vector128.LoadUnsafe(ref from, at + 2)).StoreUnsafe(ref to, at);
        for (; at < (nuint)samples.Length; at++)
            floats[(int)at] = (float)samples[(int)at];
    }

    /// <summary>All that a round looks at.</summary>
    private static Vector128<float> Magnitudes(ref float first)
    {
        var (a, b) = (Vector128.Abs(Vector128.LoadUnsafe(ref first)), Vector128.Abs(Vector128.LoadUnsafe(ref first, 4)));
        var (c, d) = (Vector128.Abs(Vector128.LoadUnsafe(ref first, 8)), Vector128.Abs(Vector128.LoadUnsafe(ref first, 12)));
        var last = Vector128.Abs(Vector128.LoadUnsafe(ref first, Newest + Places - 4));
        return Vector128.MaxNative(Vector128.MaxNative(Vector128.MaxNative(a, b), Vector128.MaxNative(c, d)), last);
    }

    /// <summary>The greatest of the four phases at each of eight places, the greater of two by two.</summary>
    private static Vector128<float> Outputs(ref float first)
    {
        ref var half = ref MemoryMarshal.GetArrayDataReference(Halves);
        Vector128<float> a0 = default, a1 = default, a2 = default, a3 = default, b0 = default, b1 = default, b2 = default, b3 = default;
        for (nuint tap = 0; tap < Half; tap++)
        {
            var (newer, older) = (Vector128.LoadUnsafe(ref first, Newest - tap), Vector128.LoadUnsafe(ref first, tap));
            var (newer2, older2) = (Vector128.LoadUnsafe(ref first, Newest + 4 - tap), Vector128.LoadUnsafe(ref first, tap + 4));
            var (sum, difference, sum2, difference2) = (newer + older, newer - older, newer2 + older2, newer2 - older2);
            var (even, odd) = (Vector128.LoadUnsafe(ref half, 16 * tap), Vector128.LoadUnsafe(ref half, 16 * tap + 4));
            a0 += even * sum;
            b0 += even * sum2;
            a1 += odd * difference;
            b1 += odd * difference2;
            (even, odd) = (Vector128.LoadUnsafe(ref half, 16 * tap + 8), Vector128.LoadUnsafe(ref half, 16 * tap + 12));
            a2 += even * sum;
            b2 += even * sum2;
            a3 += odd * difference;
            b3 += odd * difference2;
        }
        return Vector128.MaxNative(
            Vector128.MaxNative(Vector128.Abs(a0) + Vector128.Abs(a1), Vector128.Abs(a2) + Vector128.Abs(a3)),
            Vector128.MaxNative(Vector128.Abs(b0) + Vector128.Abs(b1), Vector128.Abs(b2) + Vector128.Abs(b3)));
    }
}
