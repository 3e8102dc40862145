namespace LibraryShelf.Audio.Measures;

/// <summary>
/// Keeps the part of a sound that brightness and pitch are taken from: the loudest channel, from where it first comes near its peak. Read
/// forwards, that is where the peak last doubled: within 6 dB of the final one.
/// </summary>
internal sealed class OpeningCapture
{
    /// <summary>Seconds kept: the blow itself, and a quarter of a second after it, seven periods of a piano's lowest note.</summary>
    private const double Seconds = 0.28;

    /// <summary>So much at most at any rate, samples.</summary>
    private const int Most = 1 << 17;

    private readonly float[] kept;
    private int count, channel;
    private double startPeak;

    public OpeningCapture(int sampleRate) => kept = new float[Math.Clamp((int)(Seconds * sampleRate), 16, Most)];

    public ReadOnlySpan<float> Kept => kept.AsSpan(0, count);

    /// <summary>Whether a stretch of this peak begins anew; asked once a stretch with the channel whose peak it is.</summary>
    public void Meet(double peak, int loudest)
    {
        if (peak > 0 && peak >= 2 * startPeak)
            (startPeak, channel, count) = (peak, loudest, 0);
    }

    /// <summary>The channel to go on with; null when there is enough, or nothing has sounded yet.</summary>
    public int? Wanted => startPeak > 0 && count < kept.Length ? channel : null;

    public void Take(ReadOnlySpan<double> samples)
    {
        var taken = Math.Min(samples.Length, kept.Length - count);
        for (var i = 0; i < taken; i++)
            kept[count + i] = (float)samples[i];
        count += taken;
    }
}
