namespace LibraryShelf.Audio.Previews;

/// <summary>
/// Another rate, another pitch: the sound read at another speed through a band-limited interpolator (a sinc under a Kaiser window, β 8, 24 crossings
/// of zero to each side; J. O. Smith, "Digital Audio Resampling Home Page", 2002). What the new rate can't hold is taken off.
/// </summary>
public static class Resampler
{
    private const int Crossings = 24, Steps = 512;
    private const double Beta = 8;

    /// <summary>Where the filter is 6 dB down, of the lower of both rates' half.</summary>
    private const double Edge = 0.94;

    /// <summary>An outcome is cut there: ten minutes at 48 kHz, twice what any preview holds.</summary>
    public const int MostFrames = 600 * OggOpus.SampleRate;

    private static readonly double[] Kernel = MakeKernel();

    /// <param name="sound">What is read.</param>
    /// <param name="speed">1 leaves the pitch as it is, 2 is an octave higher and half as long; above 0.</param>
    /// <param name="sampleRate">Of the outcome, Hz.</param>
    /// <param name="told">Told after each second of the outcome how many there are; what it throws ends the work.</param>
    /// <returns>As long as it is at that speed, <see cref="MostFrames"/> at most.</returns>
    public static Sound Read(Sound sound, double speed, int sampleRate, Action<int>? told = null)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(speed);
        var step = speed * sound.SampleRate / sampleRate;
        if (step == 1 || sound.Frames == 0)
            return sound with { SampleRate = sampleRate };
        var frames = (int)Math.Min(MostFrames, Math.Ceiling(sound.Frames / step));
        var made = new float[frames * sound.Channels];
        var cutoff = Edge * Math.Min(1, 1 / step);
        var reach = (int)Math.Ceiling(Crossings / cutoff);
        var weights = new double[2 * reach + 1];
        for (var frame = 0; frame < frames; frame++)
        {
            var at = frame * step;
            var first = (int)Math.Floor(at) - reach;
            for (var i = 0; i < weights.Length; i++)
                weights[i] = cutoff * Weight(Math.Abs(at - (first + i)) * cutoff);
            for (var channel = 0; channel < sound.Channels; channel++)
                made[frame * sound.Channels + channel] = (float)Sum(sound, channel, first, weights);
            if ((frame + 1) % sampleRate == 0)
                told?.Invoke((frame + 1) / sampleRate);
        }
        return new Sound(made, sound.Channels, sampleRate);
    }

    private static double Sum(Sound sound, int channel, int first, double[] weights)
    {
        var samples = sound.Samples.Span;
        var (from, to) = (Math.Max(0, -first), Math.Min(weights.Length, sound.Frames - first));
        var sum = 0.0;
        for (var i = from; i < to; i++)
            sum += weights[i] * samples[(first + i) * sound.Channels + channel];
        return sum;
    }

    /// <summary>At <paramref name="distance"/> crossings from the middle, between two entries of the table by a straight line: 106 dB below at the worst.</summary>
    private static double Weight(double distance)
    {
        var at = distance * Steps;
        var index = (int)at;
        return index >= Crossings * Steps ? 0 : Kernel[index] + (at - index) * (Kernel[index + 1] - Kernel[index]);
    }

    private static double[] MakeKernel()
    {
        var kernel = new double[Crossings * Steps + 1];
        for (var i = 0; i < kernel.Length; i++)
        {
            var x = (double)i / Steps;
            var sinc = i == 0 ? 1 : Math.Sin(Math.PI * x) / (Math.PI * x);
            kernel[i] = sinc * Bessel(Beta * Math.Sqrt(Math.Max(0, 1 - x * x / (Crossings * Crossings)))) / Bessel(Beta);
        }
        return kernel;
    }

    /// <summary>Modified Bessel function of the first kind, order 0, by its series.</summary>
    private static double Bessel(double x)
    {
        var (sum, term) = (1.0, 1.0);
        for (var k = 1; term > 1e-18 * sum; k++)
        {
            term *= x / (2 * k) * (x / (2 * k));
            sum += term;
        }
        return sum;
    }
}
