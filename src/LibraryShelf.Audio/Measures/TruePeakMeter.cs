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
    /// <summary>Samples before a stretch that the filter looks back on.</summary>
    public const int LookBack = Taps - 1;
    private const int Taps = 12, Half = Taps / 2, Lanes = 4;

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

    // A phase and its mirror image are the sum and the difference of an even and an odd half: the greater of the two is |even| + |odd|.
    private static readonly Vector128<float>[] Even0 = Halves(Phase0, 1), Odd0 = Halves(Phase0, -1), Even1 = Halves(Phase1, 1), Odd1 = Halves(Phase1, -1);

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

    private float Interpolate(ReadOnlySpan<double> samples, int count)
    {
        // Behind the end stands what makes no new peak: outputs of the last lanes that reach into it are left out below.
        if (scratch.Length < samples.Length + Lanes)
            scratch = new float[samples.Length + Lanes];
        for (var i = 0; i < samples.Length; i++)
            scratch[i] = (float)samples[i];
        ref var first = ref MemoryMarshal.GetReference(scratch.AsSpan());
        var greatest = Vector128<float>.Zero;
        var at = 0;
        for (; at + Lanes <= count; at += Lanes)
            greatest = Vector128.MaxNative(greatest, Outputs(ref first, at));
        if (at < count)
        {
            var last = Outputs(ref first, at);
            for (var lane = 0; lane < count - at; lane++)
                greatest = Vector128.MaxNative(greatest, Vector128.Create(last[lane]));
        }
        return Math.Max(Math.Max(greatest[0], greatest[1]), Math.Max(greatest[2], greatest[3]));
    }

    /// <summary>The greatest of the four phases at each of four places.</summary>
    private static Vector128<float> Outputs(ref float first, int at)
    {
        Vector128<float> even0 = default, odd0 = default, even1 = default, odd1 = default;
        for (var tap = 0; tap < Half; tap++)
        {
            var newer = Vector128.LoadUnsafe(ref first, (nuint)(at + LookBack - tap));
            var older = Vector128.LoadUnsafe(ref first, (nuint)(at + tap));
            var (sum, difference) = (newer + older, newer - older);
            even0 += Even0[tap] * sum;
            odd0 += Odd0[tap] * difference;
            even1 += Even1[tap] * sum;
            odd1 += Odd1[tap] * difference;
        }
        return Vector128.MaxNative(Vector128.Abs(even0) + Vector128.Abs(odd0), Vector128.Abs(even1) + Vector128.Abs(odd1));
    }

    private static Vector128<float>[] Halves(float[] phase, int sign) =>
        [.. Enumerable.Range(0, Half).Select(tap => Vector128.Create((phase[tap] + sign * phase[LookBack - tap]) / 2))];
}
