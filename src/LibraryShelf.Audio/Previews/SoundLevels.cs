using LibraryShelf.Audio.Files;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Previews;

/// <summary>
/// What is measured of a short sound: integrated loudness (<paramref name="LoudnessLufs"/>, as <see cref="RecordingFacts.LoudnessLufs"/>) and true peak
/// (<paramref name="TruePeakDbtp"/>, as <see cref="RecordingFacts.TruePeakDbtp"/>).
/// </summary>
public sealed record SoundLevels(double? LoudnessLufs, double? TruePeakDbtp)
{
    /// <summary>Of several sounds of one rate and the same channels, one after the other as one programme.</summary>
    public static SoundLevels Of(IEnumerable<Sound> sounds)
    {
        ArgumentNullException.ThrowIfNull(sounds);
        LoudnessMeter? loudness = null;
        var peak = 0.0;
        foreach (var sound in sounds)
        {
            loudness ??= LevelMeter.Loudness(sound.Channels, sound.SampleRate);
            var meter = new LevelMeter(loudness, sound.Channels);
            meter.Take(sound.Samples.Span);
            peak = Math.Max(peak, meter.Peak);
        }
        return new SoundLevels(loudness?.Integrated, Decibels.OfMagnitude(peak));
    }
}

/// <summary>Measures a sound while it comes, piece by piece: nothing of it is kept.</summary>
public sealed class LevelMeter
{
    private const int LookBack = TruePeakMeter.LookBack;

    private readonly LoudnessMeter loudness;
    private readonly TruePeakMeter truePeak;
    private readonly double[] interleaved;
    private readonly double[][] channels;

    /// <param name="channels">1 or 2.</param>
    /// <param name="sampleRate">Hz.</param>
    public LevelMeter(int channels, int sampleRate) : this(Loudness(channels, sampleRate), channels)
    {
    }

    internal LevelMeter(LoudnessMeter loudness, int channels)
    {
        this.loudness = loudness;
        truePeak = new TruePeakMeter(channels);
        interleaved = new double[SoundFile.BlockFrames * channels];
        this.channels = [.. Enumerable.Range(0, channels).Select(_ => new double[LookBack + SoundFile.BlockFrames])];
    }

    /// <summary>Of all that was taken.</summary>
    public SoundLevels Levels => new(loudness.Integrated, Decibels.OfMagnitude(Peak));

    /// <summary>True peak as a magnitude, full scale 1.</summary>
    internal double Peak => truePeak.Peak;

    internal static LoudnessMeter Loudness(int channels, int sampleRate) => new(new SampleFormat(SampleCoding.Float32, channels, sampleRate, 32));

    /// <param name="samples">Whole frames, interleaved, full scale 1, of any length.</param>
    public void Take(ReadOnlySpan<float> samples)
    {
        for (; samples.Length > 0; samples = samples[Math.Min(samples.Length, interleaved.Length)..])
            TakeBlock(samples[..Math.Min(samples.Length, interleaved.Length)]);
    }

    private void TakeBlock(ReadOnlySpan<float> block)
    {
        for (var i = 0; i < block.Length; i++)
            interleaved[i] = channels[i % channels.Length][LookBack + i / channels.Length] = block[i];
        loudness.Take(interleaved.AsSpan(0, block.Length));
        var count = block.Length / channels.Length;
        for (var channel = 0; channel < channels.Length; channel++)
        {
            truePeak.Take(channel, channels[channel].AsSpan(0, LookBack + count), Stretch.Of(channels[channel].AsSpan(LookBack, count)).Peak);
            channels[channel].AsSpan(count, LookBack).CopyTo(channels[channel]);
        }
    }
}
