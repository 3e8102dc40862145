using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace LibraryShelf.Audio.Measures;

/// <summary>What a stretch of one channel comes to: least and greatest sample, sum, and sum of squares (full scale 1).</summary>
[StructLayout(LayoutKind.Auto)]
internal readonly record struct Stretch(double Least, double Greatest, double Sum, double Energy)
{
    /// <summary>The largest magnitude.</summary>
    public double Peak => Math.Max(Greatest, -Least);

    /// <summary>Finite samples, at least one. Two lanes at a time: one reading of memory for all four values.</summary>
    public static Stretch Of(ReadOnlySpan<double> samples)
    {
        ref var first = ref MemoryMarshal.GetReference(samples);
        var least = Vector128.Create(samples[0]);
        var greatest = least;
        Vector128<double> sum = default, sum2 = default, energy = default, energy2 = default;
        var at = 0;
        for (; at + 4 <= samples.Length; at += 4)
        {
            var a = Vector128.LoadUnsafe(ref first, (nuint)at);
            var b = Vector128.LoadUnsafe(ref first, (nuint)at + 2);
            least = Vector128.MinNative(least, Vector128.MinNative(a, b));
            greatest = Vector128.MaxNative(greatest, Vector128.MaxNative(a, b));
            sum += a;
            sum2 += b;
            energy += a * a;
            energy2 += b * b;
        }
        var (total, squares) = (Vector128.Sum(sum + sum2), Vector128.Sum(energy + energy2));
        var (low, high) = (Math.Min(least[0], least[1]), Math.Max(greatest[0], greatest[1]));
        for (; at < samples.Length; at++)
        {
            var x = samples[at];
            low = Math.Min(low, x);
            high = Math.Max(high, x);
            total += x;
            squares += x * x;
        }
        return new Stretch(low, high, total, squares);
    }
}
