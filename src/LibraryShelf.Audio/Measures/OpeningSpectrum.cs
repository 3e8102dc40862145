using System.Numerics;

namespace LibraryShelf.Audio.Measures;

/// <summary>Power spectrum of a sound's opening after its blow, Hann-windowed; brightness is taken from it, and the pitch estimate.</summary>
internal sealed class OpeningSpectrum
{
    /// <summary>The blow itself is left out, seconds, when at least as much again follows.</summary>
    private const double Blow = 0.03;

    /// <summary>Below is rumble, not tone, Hz.</summary>
    private const double LeastHz = 20;

    /// <summary>Fewer samples than this say nothing of a spectrum.</summary>
    private const int Least = 32;

    private readonly int sampleRate;

    private OpeningSpectrum(int sampleRate, int length, int size, float[] power, Fourier fourier) =>
        (this.sampleRate, Length, Size, Power, Fourier) = (sampleRate, length, size, power, fourier);

    /// <summary>Samples looked at.</summary>
    public int Length { get; }

    /// <summary>Samples of the transform; zeros fill what <see cref="Length"/> leaves.</summary>
    public int Size { get; }

    public float[] Power { get; }

    public Fourier Fourier { get; }

    /// <summary>Null when there is too little to look at.</summary>
    public static OpeningSpectrum? Of(ReadOnlySpan<float> opening, int sampleRate)
    {
        var blow = (int)(Blow * sampleRate);
        var part = opening.Length >= 2 * blow ? opening[blow..] : opening;
        if (part.Length < Least)
            return null;
        // A third more than there is, so that lags of a quarter of the size do not come round.
        var size = (int)BitOperations.RoundUpToPowerOf2((uint)(part.Length + part.Length / 3));
        var windowed = new float[size];
        Window(part, windowed);
        var fourier = Fourier.OfReal(size);
        return new OpeningSpectrum(sampleRate, part.Length, size, fourier.Power(windowed), fourier);
    }

    /// <summary>Spectral centroid, Hz: the mean frequency, each weighted with its power; null when nothing sounds.</summary>
    public double? Centroid()
    {
        double sum = 0, weighted = 0;
        for (var k = Math.Max(1, (int)Math.Ceiling(LeastHz * Size / sampleRate)); k < Power.Length; k++)
        {
            sum += Power[k];
            weighted += (double)k * Power[k];
        }
        return sum > 0 && double.IsFinite(weighted) ? weighted / sum * sampleRate / Size : null;
    }

    /// <summary>Takes the mean off and multiplies with a Hann window, whose cosine is made step by step; scaled to the greatest, which keeps powers finite.</summary>
    private static void Window(ReadOnlySpan<float> part, Span<float> windowed)
    {
        double mean = 0, greatest = 0;
        foreach (var x in part)
            mean += x;
        mean /= part.Length;
        foreach (var x in part)
            greatest = Math.Max(greatest, Math.Abs(x - mean));
        var scale = greatest > 0 ? 0.5 / greatest : 0;
        var turn = 2 * Math.Cos(2 * Math.PI / part.Length);
        var (now, before) = (Math.Cos(Math.PI / part.Length), Math.Cos(Math.PI / part.Length));
        for (var i = 0; i < part.Length; i++)
        {
            windowed[i] = (float)((part[i] - mean) * scale * (1 - now));
            (now, before) = (turn * now - before, now);
        }
    }
}
