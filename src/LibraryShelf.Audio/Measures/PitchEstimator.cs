namespace LibraryShelf.Audio.Measures;

/// <summary>
/// A plain estimate of pitch: the first strong peak of the autocorrelation, freed from the window's own (P. Boersma, "Accurate short-term
/// analysis of the fundamental frequency", IFA Proceedings 17, 1993), read finer at multiples of its lag. Good enough to tell the note of a
/// clear tone; a stiff string's partials, two strings that beat, or noise lead it astray by cents or more.
/// </summary>
internal static class PitchEstimator
{
    private const double LeastHz = 24, GreatestHz = 5000;

    /// <summary>The first peak that is this share of the highest is taken: later ones are its multiples (common practice, no source).</summary>
    private const double AsGoodAsHighest = 0.9;

    /// <summary>Below, there is no tone to speak of.</summary>
    private const double LeastConfidence = 0.5;

    public static PitchEstimate? Of(OpeningSpectrum spectrum, int sampleRate)
    {
        var lags = spectrum.Fourier.Autocorrelation(spectrum.Power);
        if (!(lags[0] > 0))
            return null;
        var (shortest, longest) = ((int)(sampleRate / GreatestHz), (int)Math.Min(sampleRate / LeastHz, Math.Min(spectrum.Length / 2, spectrum.Size / 4) - 2));
        var highest = 0.0;
        for (var lag = Math.Max(2, shortest); lag <= longest; lag++)
            if (IsPeak(lags, lag))
                highest = Math.Max(highest, At(lags, lag, spectrum.Length));
        if (highest < LeastConfidence)
            return null;
        for (var lag = Math.Max(2, shortest); lag <= longest; lag++)
            if (IsPeak(lags, lag) && At(lags, lag, spectrum.Length) is var height && height >= AsGoodAsHighest * highest)
                return Estimate(sampleRate / Refine(lags, lag, longest, spectrum.Length), height);
        return null;
    }

    private static PitchEstimate? Estimate(double hz, double height)
    {
        var exact = 69 + 12 * Math.Log2(hz / 440);
        var note = (int)Math.Round(exact);
        return note is < 0 or > 127 ? null : new PitchEstimate(hz, note, 100 * (exact - note), Math.Min(1, height));
    }

    /// <summary>Doubles the lag as long as a peak stands there; its place divided by the number of periods is that much finer.</summary>
    private static double Refine(float[] lags, int lag, int longest, int length)
    {
        var period = Vertex(lags, lag, length);
        for (var times = 2; times * period < longest - 1; times *= 2)
        {
            var near = (int)Math.Round(times * period);
            foreach (var place in (ReadOnlySpan<int>)[near, near - 1, near + 1])
                if (IsPeak(lags, place))
                    near = place;
            if (!IsPeak(lags, near) || At(lags, near, length) < LeastConfidence)
                break;
            period = Vertex(lags, near, length) / times;
        }
        return period;
    }

    private static bool IsPeak(float[] lags, int lag) => lags[lag] > 0 && lags[lag] >= lags[lag - 1] && lags[lag] > lags[lag + 1];

    /// <summary>Where the parabola through a peak and its neighbours is highest.</summary>
    private static double Vertex(float[] lags, int lag, int length)
    {
        var (before, at, after) = (At(lags, lag - 1, length), At(lags, lag, length), At(lags, lag + 1, length));
        var bend = before - 2 * at + after;
        return bend < 0 ? lag + Math.Clamp((before - after) / (2 * bend), -1, 1) : lag;
    }

    /// <summary>Correlation at a lag, 1 for what repeats exactly: divided by that of a Hann window of this length.</summary>
    private static double At(float[] lags, int lag, int length)
    {
        var share = (double)lag / length;
        var window = (1 - share) * (2.0 / 3 + Math.Cos(2 * Math.PI * share) / 3) + Math.Sin(2 * Math.PI * share) / (2 * Math.PI);
        return lags[lag] / (lags[0] * window);
    }
}
