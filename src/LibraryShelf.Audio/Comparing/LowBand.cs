using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

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
        var low = new float[LengthFor(samples.Length)];
        Of(samples, low);
        return low;
    }

    /// <summary>How many values there are for so many samples.</summary>
    public static int LengthFor(int samples) => (samples + Step - 1) / Step;

    /// <summary>As <see cref="Of(ReadOnlySpan{float})"/>, into a place for that many.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)] // A comparison is over before the runtime has seen often enough what it should compile well.
    public static void Of(ReadOnlySpan<float> samples, Span<float> low)
    {
        var taps = Taps.AsSpan();
        for (var i = 0; i < low.Length; i++)
        {
            var (from, to) = (i * Step - Half, i * Step + Half + 1);
            var (first, last) = (Math.Max(0, from), Math.Min(samples.Length, to));
            ref var a = ref MemoryMarshal.GetReference(samples[first..last]);
            ref var b = ref MemoryMarshal.GetReference(taps[(first - from)..(last - from)]);
            var (sums, at, length) = (Vector<float>.Zero, 0, last - first);
            for (; at <= length - Vector<float>.Count; at += Vector<float>.Count)
                sums += Vector.LoadUnsafe(ref a, (nuint)at) * Vector.LoadUnsafe(ref b, (nuint)at);
            var sum = Vector.Sum(sums);
            for (; at < length; at++)
                sum += Unsafe.Add(ref a, at) * Unsafe.Add(ref b, at);
            low[i] = sum;
        }
    }
}
