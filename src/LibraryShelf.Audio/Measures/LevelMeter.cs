namespace LibraryShelf.Audio.Measures;

/// <summary>Sample peak, runs at full scale, DC and silence, per channel, over stretches of any length in order.</summary>
internal sealed class LevelMeter(int channels, double fullScale, int sampleRate)
{
    /// <summary>Two samples at full scale in a row happen at a true peak; three are taken for clipping (common practice, no source).</summary>
    public const int ClippedRunLength = 3;

    private readonly int[] runs = new int[channels];
    private readonly double[] sums = new double[channels];
    private readonly double[] peaks = new double[channels];
    private readonly List<double> clippedAt = [];

    public int ClippedRuns { get; private set; }

    /// <summary>Seconds, the first <see cref="RecordingFacts.MostClippedAt"/>.</summary>
    public IReadOnlyList<double> ClippedAt => [.. clippedAt.Order()];

    /// <summary>The largest magnitude of any channel.</summary>
    public double Peak => peaks.Max();

    public bool IsSilent(int channel) => peaks[channel] == 0;

    /// <summary>Sum of a channel's samples.</summary>
    public double SumOf(int channel) => sums[channel];

    /// <param name="channel">From 0.</param>
    /// <param name="samples">What follows this channel's last stretch.</param>
    /// <param name="stretch">The same, summed up.</param>
    /// <param name="frame">Frames before the stretch.</param>
    public void Take(int channel, ReadOnlySpan<double> samples, in Stretch stretch, long frame)
    {
        sums[channel] += stretch.Sum;
        peaks[channel] = Math.Max(peaks[channel], stretch.Peak);
        if (stretch.Peak < fullScale)
            runs[channel] = 0;
        else
            CountRuns(channel, samples, frame);
    }

    private void CountRuns(int channel, ReadOnlySpan<double> samples, long frame)
    {
        for (var i = 0; i < samples.Length; i++)
        {
            if (Math.Abs(samples[i]) < fullScale)
                runs[channel] = 0;
            else if (++runs[channel] == ClippedRunLength)
                CountRun(frame + i + 1 - ClippedRunLength);
        }
    }

    private void CountRun(long start)
    {
        ClippedRuns++;
        if (clippedAt.Count < RecordingFacts.MostClippedAt)
            clippedAt.Add((double)start / sampleRate);
    }
}
