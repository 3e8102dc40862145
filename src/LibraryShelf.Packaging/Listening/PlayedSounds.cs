using LibraryShelf.Audio;
using LibraryShelf.Audio.Previews;

namespace LibraryShelf.Packaging.Listening;

/// <summary>The recordings behind regions, as sounds.</summary>
internal sealed class PlayedSounds(IReadOnlyDictionary<string, RecordingFacts> facts, Func<string, Stream> open)
{
    /// <summary>Heard after the fall of 60 dB, where the recording goes on: so that the cut can't be.</summary>
    private const double AfterFall = 0.1;

    /// <summary>Kept behind a loop's end, so that what a codec smears over it is of the sound.</summary>
    private const double AfterLoop = 0.06;

    /// <summary>Of a cut recording, at most so much fades, and at most a third of it.</summary>
    private const double LongestFade = 0.4;

    public bool IsMono(string sha256) => facts[sha256] is { Channels: 1 } or { ChannelsIdentical: true };

    public int RateOf(PlayedRegion region) => facts[region.Sha256].SampleRate;

    /// <summary>The recording's true peak with the region's volume, dBTP; null when that is not known.</summary>
    public double? PeakOf(PlayedRegion region) => facts[region.Sha256].TruePeakDbtp + region.VolumeDb;

    /// <summary>How much of the recording is kept, seconds, and whether its loop is. A loop that ends later than <paramref name="most"/> is none.</summary>
    public (double Seconds, bool IsLooped) LengthOf(PlayedRegion region, double most)
    {
        var known = facts[region.Sha256];
        var rate = (double)known.SampleRate;
        var length = (known.Frames - region.Offset) / rate;
        if (region.Loop is { } loop && loop.First >= region.Offset && (loop.Last - region.Offset) / rate <= most)
            return (Math.Min(length, (loop.Last - region.Offset) / rate + AfterLoop), true);
        var falls = (known.LeadInMs + known.AttackMs + known.Decay60Ms) / 1000 + AfterFall;
        return (Math.Min(most, Math.Min(length, falls ?? length)), false);
    }

    /// <summary>From its offset on; what is cut before its end fades. In its own rate, one channel where both are the same. Null when it can't be read.</summary>
    public Sound? Read(PlayedRegion region, double most)
    {
        var (seconds, isLooped) = LengthOf(region, most);
        using var stream = open(region.Sha256);
        if (SoundReading.Read(stream, region.Offset, seconds) is not { Frames: > 0 } sound)
            return null;
        if (IsMono(region.Sha256))
            sound = sound.ToMono();
        return isLooped || sound.Frames >= facts[region.Sha256].Frames - region.Offset ? sound : Faded(sound, Math.Min(LongestFade, sound.Seconds / 3));
    }

    /// <summary>Its last <paramref name="seconds"/> fall to nothing along half a cosine.</summary>
    public static Sound Faded(Sound sound, double seconds)
    {
        var samples = sound.Samples.ToArray();
        var frames = Math.Min(sound.Frames, (int)(seconds * sound.SampleRate));
        for (var i = 0; i < frames; i++)
        {
            var gain = (float)(0.5 + 0.5 * Math.Cos(Math.PI * (i + 1) / frames));
            for (var channel = 0; channel < sound.Channels; channel++)
                samples[(sound.Frames - frames + i) * sound.Channels + channel] *= gain;
        }
        return sound with { Samples = samples };
    }

    public static Sound Louder(Sound sound, double decibels)
    {
        var gain = GainOf(decibels);
        var samples = sound.Samples.ToArray();
        for (var i = 0; i < samples.Length; i++)
            samples[i] *= gain;
        return sound with { Samples = samples };
    }

    /// <summary>As a factor.</summary>
    public static float GainOf(double decibels) => (float)Math.Pow(10, decibels / 20);
}
