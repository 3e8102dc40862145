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
            loudness ??= new LoudnessMeter(new SampleFormat(SampleCoding.Float32, sound.Channels, sound.SampleRate, 32));
            peak = Math.Max(peak, Take(sound, loudness));
        }
        return new SoundLevels(loudness?.Integrated, Decibels.OfMagnitude(peak));
    }

    private static double Take(Sound sound, LoudnessMeter loudness)
    {
        const int lookBack = TruePeakMeter.LookBack;
        var meter = new TruePeakMeter(sound.Channels);
        var interleaved = new double[SoundFile.BlockFrames * sound.Channels];
        var channels = Enumerable.Range(0, sound.Channels).Select(_ => new double[lookBack + SoundFile.BlockFrames]).ToArray();
        for (var first = 0; first < sound.Frames; first += SoundFile.BlockFrames)
        {
            var count = Math.Min(SoundFile.BlockFrames, sound.Frames - first);
            var from = sound.Samples.Span.Slice(first * sound.Channels, count * sound.Channels);
            for (var i = 0; i < from.Length; i++)
                interleaved[i] = channels[i % sound.Channels][lookBack + i / sound.Channels] = from[i];
            loudness.Take(interleaved.AsSpan(0, from.Length));
            for (var channel = 0; channel < channels.Length; channel++)
            {
                meter.Take(channel, channels[channel].AsSpan(0, lookBack + count), Stretch.Of(channels[channel].AsSpan(lookBack, count)).Peak);
                channels[channel].AsSpan(count, lookBack).CopyTo(channels[channel]);
            }
        }
        return meter.Peak;
    }
}
