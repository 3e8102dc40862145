namespace LibraryShelf.Audio.Measures;

/// <summary>Sample peak, runs at full scale, and samples that are no numbers, over interleaved blocks of any length.</summary>
internal sealed class LevelMeter(int channels, double fullScale)
{
    /// <summary>Two samples at full scale in a row happen at a true peak; three are taken for clipping (common practice, no source).</summary>
    public const int ClippedRunLength = 3;

    private readonly int[] runs = new int[channels];
    private double peak;

    public int ClippedRuns { get; private set; }

    public bool HasNonFinite { get; private set; }

    public bool IsSilent => peak == 0 && !HasNonFinite;

    /// <summary>20·log10 of the largest magnitude; null when every finite sample is zero.</summary>
    public double? PeakDbfs => peak > 0 ? 20 * Math.Log10(peak) : null;

    /// <summary>Takes whole frames. A plain loop: a vector maximum answers NaN for the whole block if one sample is NaN.</summary>
    public void Take(ReadOnlySpan<double> interleaved)
    {
        for (var at = 0; at < interleaved.Length; at += channels)
            for (var channel = 0; channel < channels; channel++)
                TakeSample(channel, Math.Abs(interleaved[at + channel]));
    }

    private void TakeSample(int channel, double magnitude)
    {
        if (!double.IsFinite(magnitude))
            HasNonFinite = true;
        else if (magnitude > peak)
            peak = magnitude;
        if (!(magnitude >= fullScale) || double.IsInfinity(magnitude))
            runs[channel] = 0;
        else if (++runs[channel] == ClippedRunLength)
            ClippedRuns++;
    }
}
