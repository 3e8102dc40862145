using System.Buffers;
using System.Collections.Concurrent;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// The discrete Fourier transform of a power-of-two number of complex values, in place (Cooley and Tukey 1965, decimation in time), and with it
/// the power spectrum of real samples and back from a spectrum to the autocorrelation (Wiener and Khinchin).
/// </summary>
internal sealed class Fourier
{
    private const int Lanes = 4, WideLanes = 8;

    private static readonly ConcurrentDictionary<int, Fourier> Known = [];

    private readonly int size;

    /// <summary>Pairs of places whose values are exchanged, one behind the other.</summary>
    private readonly int[] swaps;
    private readonly float[] cos, sin;

    /// <summary>For real signals of twice this many samples: cosine and sine of each bin's half step.</summary>
    private readonly float[] halfCos, halfSin;

    private Fourier(int size)
    {
        this.size = size;
        var bits = BitOperations.Log2((uint)size);
        swaps = [.. Enumerable.Range(0, size).Select(i => (i, At: bits == 0 ? 0 : (int)(Reverse((uint)i) >> (32 - bits)))).Where(s => s.At > s.i).SelectMany(s => (int[])[s.i, s.At])];
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
        using var of = SpectrumOf(a, b);
        var (toRe, toIm) = (new float[size], new float[size]);
        for (var k = 0; k < size; k++)
        {
            var ((aRe, aIm), (bRe, bIm)) = (of.First(k), of.Second(k));
            (toRe[k], toIm[k]) = (aRe * bRe + aIm * bIm, aIm * bRe - aRe * bIm);
        }
        Back(toRe, toIm);
        return toRe;
    }

    /// <summary>Of two real signals at once, neither longer than the size.</summary>
    public Spectrum SpectrumOf(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var of = new Spectrum(size);
        Fill(of.Re, a);
        Fill(of.Im, b);
        Transform(of.Re, of.Im);
        return of;
    }

    private static void Fill(Span<float> whole, ReadOnlySpan<float> start)
    {
        start.CopyTo(whole);
        whole[start.Length..].Clear();
    }

    /// <summary>
    /// As <see cref="CrossCorrelation"/>, twice in one transform: the first signal of <paramref name="x"/> with the second of <paramref name="y"/>, and the
    /// first of <paramref name="y"/> with the second of <paramref name="x"/>. The first answer is the real part, the other the imaginary one.
    /// </summary>
    public Spectrum CrossCorrelations(Spectrum x, Spectrum y)
    {
        var to = new Spectrum(size);
        Multiply(x, y, to);
        Back(to.Re, to.Im);
        return to;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void Multiply(Spectrum x, Spectrum y, Spectrum to)
    {
        ReadOnlySpan<float> xRe = x.Re, xIm = x.Im, yRe = y.Re, yIm = y.Im;
        Span<float> toRe = to.Re, toIm = to.Im;
        // Of real signals: what lies as far from the other end is the conjugate.
        for (int k = 0, m = 0; k <= xRe.Length / 2; k++, m = xRe.Length - k)
        {
            var (aRe, aIm) = ((xRe[k] + xRe[m]) / 2, (xIm[k] - xIm[m]) / 2);
            var (bRe, bIm) = ((yIm[k] + yIm[m]) / 2, (yRe[m] - yRe[k]) / 2);
            var (cRe, cIm) = ((yRe[k] + yRe[m]) / 2, (yIm[k] - yIm[m]) / 2);
            var (dRe, dIm) = ((xIm[k] + xIm[m]) / 2, (xRe[m] - xRe[k]) / 2);
            // The one product, and i times the other.
            var (oneRe, oneIm, otherRe, otherIm) = (aRe * bRe + aIm * bIm, aIm * bRe - aRe * bIm, cRe * dRe + cIm * dIm, cIm * dRe - cRe * dIm);
            (toRe[m], toIm[m]) = (oneRe + otherIm, otherRe - oneIm);
            (toRe[k], toIm[k]) = (oneRe - otherIm, oneIm + otherRe);
        }
    }

    /// <summary>From spectra of real signals, one plus i times another, to these.</summary>
    private void Back(Span<float> re, Span<float> im)
    {
        // Real and imaginary part exchanged, the transform goes the other way.
        Transform(im, re);
        foreach (ref var value in re[..size])
            value /= size;
        foreach (ref var value in im[..size])
            value /= size;
    }

    /// <summary>The transforms of two real signals, one plus i times the other, in rented room: told apart by their symmetry.</summary>
    internal sealed class Spectrum(int size) : IDisposable
    {
        private float[] re = ArrayPool<float>.Shared.Rent(size), im = ArrayPool<float>.Shared.Rent(size);

        public int Size => size;

        public Span<float> Re => re.AsSpan(0, size);

        public Span<float> Im => im.AsSpan(0, size);

        public (float Re, float Im) First(int k)
        {
            var m = (size - k) & (size - 1);
            return ((re[k] + re[m]) / 2, (im[k] - im[m]) / 2);
        }

        public (float Re, float Im) Second(int k)
        {
            var m = (size - k) & (size - 1);
            return ((im[k] + im[m]) / 2, (re[m] - re[k]) / 2);
        }

        /// <summary>Nobody may look at it afterwards.</summary>
        public void Dispose()
        {
            if (re.Length == 0)
                return;
            ArrayPool<float>.Shared.Return(re);
            ArrayPool<float>.Shared.Return(im);
            (re, im) = ([], []);
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

    /// <summary>Compiled well at once, as a comparison is over before the runtime has seen often enough what it should compile well.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void Transform(Span<float> re, Span<float> im)
    {
        ref var r = ref MemoryMarshal.GetReference(re[..size]);
        ref var m = ref MemoryMarshal.GetReference(im[..size]);
        for (var i = 0; i < swaps.Length; i += 2)
        {
            var (one, other) = (swaps[i], swaps[i + 1]);
            (Unsafe.Add(ref r, one), Unsafe.Add(ref r, other)) = (Unsafe.Add(ref r, other), Unsafe.Add(ref r, one));
            (Unsafe.Add(ref m, one), Unsafe.Add(ref m, other)) = (Unsafe.Add(ref m, other), Unsafe.Add(ref m, one));
        }
        for (var half = 1; half < Math.Min(size, Lanes); half *= 2)
            for (var start = 0; start < size; start += 2 * half)
                for (var j = 0; j < half; j++)
                {
                    var (c, s) = (cos[half + j], sin[half + j]);
                    ref var low = ref Unsafe.Add(ref r, start + j);
                    ref var lowIm = ref Unsafe.Add(ref m, start + j);
                    ref var high = ref Unsafe.Add(ref low, half);
                    ref var highIm = ref Unsafe.Add(ref lowIm, half);
                    var (x, y) = (high * c - highIm * s, high * s + highIm * c);
                    (high, highIm) = (low - x, lowIm - y);
                    (low, lowIm) = (low + x, lowIm + y);
                }
        for (var half = Lanes; half < size; half *= 2)
            for (var start = 0; start < size; start += 2 * half)
                if (half < WideLanes)
                    Butterflies(ref Unsafe.Add(ref r, start), ref Unsafe.Add(ref m, start), half);
                else
                    WideButterflies(ref Unsafe.Add(ref r, start), ref Unsafe.Add(ref m, start), half);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void Butterflies(ref float r, ref float m, int half)
    {
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

    /// <summary>The same, twice as many at a time.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void WideButterflies(ref float r, ref float m, int half)
    {
        for (nuint j = 0; j < (nuint)half; j += WideLanes)
        {
            var (c, s) = (Vector256.LoadUnsafe(ref cos[half], j), Vector256.LoadUnsafe(ref sin[half], j));
            var (low, high) = (Vector256.LoadUnsafe(ref r, j), Vector256.LoadUnsafe(ref r, j + (nuint)half));
            var (lowIm, highIm) = (Vector256.LoadUnsafe(ref m, j), Vector256.LoadUnsafe(ref m, j + (nuint)half));
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
