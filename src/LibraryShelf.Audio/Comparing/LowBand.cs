using System.Numerics;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// What is low in a signal, at an eighth of its rate: an eighth of the work tells where two recordings can't lie over each other. Each value is the
/// sum over a windowed sinc (Hann's window, cut off at <see cref="Cutoff"/>) round every eighth sample.
/// </summary>
internal static class LowBand
{
    public const int Step = 8;

    /// <summary>
    /// −6 dB, in cycles of the lower rate. Far below a half: what lies near a half looks like nothing when two recordings begin between the steps.
    /// </summary>
    public const double Cutoff = 0.2;

    private const int Half = 48;

    private static readonly float[] Taps = [.. Enumerable.Range(-Half, 2 * Half + 1).Select(i => (float)(Sinc(2 * Cutoff / Step * i) * 2 * Cutoff / Step * Math.Pow(Math.Cos(Math.PI * i / (2 * Half + 2)), 2)))];

    private static double Sinc(double x) => x == 0 ? 1 : Math.Sin(Math.PI * x) / (Math.PI * x);

    /// <summary>One value for every <see cref="Step"/> samples; before its start and behind its end the signal is silent.</summary>
    public static float[] Of(ReadOnlySpan<float> samples)
    {
        var low = new float[(samples.Length + Step - 1) / Step];
        for (var i = 0; i < low.Length; i++)
        {
            var (from, to) = (i * Step - Half, i * Step + Half + 1);
            var (first, last) = (Math.Max(0, from), Math.Min(samples.Length, to));
            low[i] = Dot(samples[first..last], Taps.AsSpan(first - from, last - first));
        }
        return low;
    }

    private static float Dot(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var (sums, i) = (Vector<float>.Zero, 0);
        for (; i <= a.Length - Vector<float>.Count; i += Vector<float>.Count)
            sums += new Vector<float>(a[i..]) * new Vector<float>(b[i..]);
        var sum = Vector.Sum(sums);
        for (; i < a.Length; i++)
            sum += a[i] * b[i];
        return sum;
    }
}
