using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// Integrated loudness (ITU-R BS.1770-5 Annex 1: blocks of 400 ms, a new one every 100 ms, gates at −70 LUFS and 10 LU below the loudness of what
/// passes that) and the greatest momentary loudness (EBU Tech 3341: 400 ms, here a new value every 10 ms). It keeps ten numbers a second.
/// </summary>
internal sealed class LoudnessMeter
{
    private const int StepsPerSecond = 100, StepsPerWindow = 40, StepsPerBlock = 10;
    private const double Offset = -0.691, AbsoluteGate = -70, RelativeGate = -10;

    private readonly double[] weights;
    private readonly int channels, sampleRate;
    private readonly KWeightedPair[] pairs;
    private readonly double[] steps = new double[StepsPerWindow];
    private readonly List<double> blocks = [];
    private long position, stepEnd, step;
    private double energy, momentaryMax;

    public LoudnessMeter(SampleFormat format)
    {
        (channels, sampleRate) = (format.Channels, format.SampleRate);
        weights = ChannelWeights.Of(format);
        pairs = sampleRate < KWeighting.LeastSampleRate ? [] : PairsOf(KWeighting.At(sampleRate), channels);
        stepEnd = EndOf(0);
    }

    /// <summary>The loudest 400 ms, LUFS; null under 400 ms or when nothing sounds.</summary>
    public double? MomentaryMax => momentaryMax > 0 ? Loudness(momentaryMax) : null;

    /// <summary>LUFS; null under 400 ms or when no block passes the gates.</summary>
    public double? Integrated
    {
        get
        {
            var loud = blocks.Where(b => b > 0 && Loudness(b) > AbsoluteGate).ToList();
            if (loud.Count == 0)
                return null;
            var gate = Loudness(loud.Average()) + RelativeGate;
            return Loudness(loud.Where(b => Loudness(b) > gate).Average());
        }
    }

    /// <summary>Takes whole frames, in order.</summary>
    public void Take(ReadOnlySpan<double> interleaved)
    {
        while (pairs.Length > 0 && interleaved.Length > 0)
        {
            var frames = (int)Math.Min(stepEnd - position, interleaved.Length / channels);
            foreach (var pair in pairs)
            {
                var sums = pair.Take(interleaved[..(frames * channels)]);
                energy += weights[pair.Offset] * sums[0] + (pair.IsPair ? weights[pair.Offset + 1] * sums[1] : 0);
            }
            interleaved = interleaved[(frames * channels)..];
            position += frames;
            if (position == stepEnd)
                EndStep();
        }
    }

    private void EndStep()
    {
        steps[step % StepsPerWindow] = energy;
        energy = 0;
        step++;
        stepEnd = EndOf(step);
        foreach (var pair in pairs)
            pair.LetGo();
        if (step < StepsPerWindow)
            return;
        var window = steps.Sum() / (position - EndOf(step - StepsPerWindow - 1));
        momentaryMax = Math.Max(momentaryMax, window);
        if ((step - StepsPerWindow) % StepsPerBlock == 0)
            blocks.Add(window);
    }

    /// <summary>Where this step, from 0, ends: rounded each for itself, so that rates which are no multiple of 100 Hz do not drift.</summary>
    private long EndOf(long number) => ((number + 1) * sampleRate + StepsPerSecond / 2) / StepsPerSecond;

    private static double Loudness(double power) => Offset + 10 * Math.Log10(power);

    private static KWeightedPair[] PairsOf(KWeighting filters, int channels) =>
        [.. Enumerable.Range(0, (channels + 1) / 2).Select(i => new KWeightedPair(filters, 2 * i, channels, 2 * i + 1 < channels))];
}
