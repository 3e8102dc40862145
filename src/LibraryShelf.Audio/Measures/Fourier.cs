using System.Collections.Concurrent;
using System.Numerics;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// The discrete Fourier transform of a power-of-two number of complex values, in place (Cooley and Tukey 1965, decimation in time), and with it
/// the power spectrum of real samples and back from a spectrum to the autocorrelation (Wiener and Khinchin).
/// </summary>
internal sealed class Fourier
{
    private const int Lanes = 4;

    private static readonly ConcurrentDictionary<int, Fourier> Known = [];

    private readonly int size;
    private readonly int[] swaps;
    private readonly float[] cos, sin;

    /// <summary>For real signals of twice this many samples: cosine and sine of each bin's half step.</summary>
    private readonly float[] halfCos, halfSin;

    private Fourier(int size)
    {
        this.size = size;
        var bits = BitOperations.Log2((uint)size);
        swaps = [.. Enumerable.Range(0, size).Select(i => bits == 0 ? 0 : (int)(Reverse((uint)i) >> (32 - bits)))];
        // The factors of each pass one after the other: 1, then 2, 4 … of them.
        (cos, sin) = (new float[size], new float[size]);
        for (var half = 1; half < size; half *= 2)
            for (var j = 0; j < half; j++)
                (sin[half + j], cos[half + j]) = ((float)-Math.Sin(Math.PI * j / half), (float)Math.Cos(Math.PI * j / half));
        (halfCos, halfSin) = (new float[size + 1], new float[size + 1]);
        for (var k = 0; k <= size; k++)
            (halfSin[k], halfCos[k]) = ((float)Math.Sin(Math.PI * k / size), (float)Math.Cos(Math.PI * k / size));
    }

    /// <summary>For real signals of <paramref name="samples"/> samples, a power of two from 16.</summary>
    public static Fourier OfReal(int samples) => Known.GetOrAdd(samples / 2, n => new Fourier(n));

    /// <summary>For <see cref="CrossCorrelation"/> at so many lags, a power of two from 8.</summary>
    public static Fourier OfLags(int lags) => Known.GetOrAdd(lags, n => new Fourier(n));

    /// <summary>
    /// The sum of a[i + lag] × b[i] at each lag from 0 to one less than the size; a and b together must not be longer than the size, else
    /// far lags run into near ones. One transform serves both: they are the real and the imaginary part of one signal.
    /// </summary>
    public float[] CrossCorrelation(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var of = SpectrumOf(a, b);
        var (toRe, toIm) = (new float[size], new float[size]);
        for (var k = 0; k < size; k++)
        {
            var ((aRe, aIm), (bRe, bIm)) = (of.First(k), of.Second(k));
            (toRe[k], toIm[k]) = (aRe * bRe + aIm * bIm, aIm * bRe - aRe * bIm);
        }
        return Back(toRe, toIm).Re;
    }

    /// <summary>Of two real signals at once, neither longer than the size.</summary>
    public Spectrum SpectrumOf(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var (re, im) = (new float[size], new float[size]);
        a.CopyTo(re);
        b.CopyTo(im);
        Transform(re, im);
        return new Spectrum(re, im);
    }

    /// <summary>
    /// As <see cref="CrossCorrelation"/>, twice in one transform: the first signal of <paramref name="x"/> with the second of <paramref name="y"/>, and the
    /// first of <paramref name="y"/> with the second of <paramref name="x"/>.
    /// </summary>
    public (float[] FirstOfX, float[] FirstOfY) CrossCorrelations(Spectrum x, Spectrum y)
    {
        var (toRe, toIm) = (new float[size], new float[size]);
        for (var k = 0; k < size; k++)
        {
            var ((aRe, aIm), (bRe, bIm)) = (x.First(k), y.Second(k));
            var ((cRe, cIm), (dRe, dIm)) = (y.First(k), x.Second(k));
            // The one product, and i times the other.
            toRe[k] = aRe * bRe + aIm * bIm - (cIm * dRe - cRe * dIm);
            toIm[k] = aIm * bRe - aRe * bIm + (cRe * dRe + cIm * dIm);
        }
        return Back(toRe, toIm);
    }

    /// <summary>From spectra of real signals, one plus i times another, to these.</summary>
    private (float[] Re, float[] Im) Back(float[] re, float[] im)
    {
        // Real and imaginary part exchanged, the transform goes the other way.
        Transform(im, re);
        for (var i = 0; i < size; i++)
            (re[i], im[i]) = (re[i] / size, im[i] / size);
        return (re, im);
    }

    /// <summary>The transforms of two real signals, told apart by their symmetry.</summary>
    internal sealed class Spectrum(float[] re, float[] im)
    {
        public int Size => re.Length;

        public (float Re, float Im) First(int k)
        {
            var m = (re.Length - k) & (re.Length - 1);
            return ((re[k] + re[m]) / 2, (im[k] - im[m]) / 2);
        }

        public (float Re, float Im) Second(int k)
        {
            var m = (re.Length - k) & (re.Length - 1);
            return ((im[k] + im[m]) / 2, (re[m] - re[k]) / 2);
        }
    }

    /// <summary>Power at each bin from 0 to half the samples, of real samples.</summary>
    public float[] Power(ReadOnlySpan<float> samples)
    {
        var (re, im) = (new float[size], new float[size]);
        for (var i = 0; i < size; i++)
            (re[i], im[i]) = (samples[2 * i], samples[2 * i + 1]);
        Transform(re, im);
        var power = new float[size + 1];
        for (var k = 0; k <= size; k++)
        {
            var (a, b) = (k % size, (size - k) % size);
            var (evenRe, evenIm) = ((re[a] + re[b]) / 2, (im[a] - im[b]) / 2);
            var (oddRe, oddIm) = ((im[a] + im[b]) / 2, (re[b] - re[a]) / 2);
            var x = evenRe + oddRe * halfCos[k] + oddIm * halfSin[k];
            var y = evenIm + oddIm * halfCos[k] - oddRe * halfSin[k];
            power[k] = x * x + y * y;
        }
        return power;
    }

    /// <summary>The autocorrelation, up to a factor, at lags 0 to one less than the samples, from <see cref="Power"/>.</summary>
    public float[] Autocorrelation(ReadOnlySpan<float> power)
    {
        var (re, im) = (new float[size], new float[size]);
        for (var k = 0; k < size; k++)
        {
            var (sum, difference) = (power[k] + power[size - k], power[k] - power[size - k]);
            (re[k], im[k]) = (sum - difference * halfSin[k], difference * halfCos[k]);
        }
        // Real and imaginary part exchanged, the transform goes the other way.
        Transform(im, re);
        var lags = new float[2 * size];
        for (var i = 0; i < size; i++)
            (lags[2 * i], lags[2 * i + 1]) = (re[i], im[i]);
        return lags;
    }

    private void Transform(Span<float> re, Span<float> im)
    {
        for (var i = 0; i < size; i++)
            if (swaps[i] > i)
                (re[i], re[swaps[i]], im[i], im[swaps[i]]) = (re[swaps[i]], re[i], im[swaps[i]], im[i]);
        for (var half = 1; half < size; half *= 2)
            for (var start = 0; start < size; start += 2 * half)
                Butterflies(re.Slice(start, 2 * half), im.Slice(start, 2 * half), half);
    }

    private void Butterflies(Span<float> re, Span<float> im, int half)
    {
        if (half < Lanes)
        {
            for (var j = 0; j < half; j++)
            {
                var (c, s) = (cos[half + j], sin[half + j]);
                var (x, y) = (re[half + j] * c - im[half + j] * s, re[half + j] * s + im[half + j] * c);
                (re[half + j], im[half + j]) = (re[j] - x, im[j] - y);
                (re[j], im[j]) = (re[j] + x, im[j] + y);
            }
            return;
        }
        ref var r = ref MemoryMarshal.GetReference(re);
        ref var m = ref MemoryMarshal.GetReference(im);
        for (nuint j = 0; j < (nuint)half; j += Lanes)
        {
            var (c, s) = (Vector128.LoadUnsafe(ref cos[half], j), Vector128.LoadUnsafe(ref sin[half], j));
            var (low, high) = (Vector128.LoadUnsafe(ref r, j), Vector128.LoadUnsafe(ref r, j + (nuint)half));
            var (lowIm, highIm) = (Vector128.LoadUnsafe(ref m, j), Vector128.LoadUnsafe(ref m, j + (nuint)half));
            var (x, y) = (high * c - highIm * s, high * s + highIm * c);
            (low - x).StoreUnsafe(ref r, j + (nuint)half);
            (lowIm - y).StoreUnsafe(ref m, j + (nuint)half);
            (low + x).StoreUnsafe(ref r, j);
            (lowIm + y).StoreUnsafe(ref m, j);
        }
    }

    private static uint Reverse(uint value)
    {
        uint reversed = 0;
        for (var bit = 0; bit < 32; bit++, value >>= 1)
            reversed = reversed << 1 | value & 1;
        return reversed;
    }
}
