using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// All measures of one recording in one pass: blocks are parted into channels and stretches of at most a millisecond, each summed up once,
/// and every meter is given what it needs of them. Memory is fixed but for ten numbers a second of loudness.
/// </summary>
internal sealed class RecordingMeter
{
    /// <summary>
    /// A float sample beyond this (300 dB over full scale) is no more a level than infinity is: it counts as not a number, and squares stay finite.
    /// </summary>
    private const double Limit = 1e15;

    private const int LookBack = TruePeakMeter.LookBack;

    private readonly SampleFormat format;
    private readonly double[][] channels;
    private readonly long[] leftOut;
    private readonly LevelMeter levels;
    private readonly TruePeakMeter truePeak;
    private readonly ChannelLikeness likeness;
    private readonly LoudnessMeter loudness;
    private readonly TimeMeter time;
    private readonly OutlineMeter outline = new();
    private readonly OpeningCapture opening;
    private long frames;

    public RecordingMeter(SampleFormat format)
    {
        this.format = format;
        channels = [.. Enumerable.Range(0, format.Channels).Select(_ => new double[LookBack + SoundFile.BlockFrames])];
        leftOut = new long[format.Channels];
        levels = new LevelMeter(format.Channels, format.FullScale, format.SampleRate);
        truePeak = new TruePeakMeter(format.Channels);
        likeness = new ChannelLikeness(format.Channels, format.Step);
        loudness = new LoudnessMeter(format);
        time = new TimeMeter(format.Channels, format.SampleRate);
        opening = new OpeningCapture(format.SampleRate);
    }

    /// <summary>Takes whole frames, at most a block of them; samples that are no numbers are made zeros in place.</summary>
    public void Take(Span<double> interleaved)
    {
        if (format.IsFloat)
            LeaveOut(interleaved);
        loudness.Take(interleaved);
        var count = interleaved.Length / format.Channels;
        Part(interleaved, count);
        for (var channel = 1; channel < channels.Length; channel++)
            likeness.Take(channels[0].AsSpan(LookBack, count), channels[channel].AsSpan(LookBack, count));
        for (var at = 0; at < count;)
        {
            var length = Math.Min(count - at, time.FramesLeft);
            TakeStretch(LookBack + at, length);
            at += length;
            frames += length;
        }
        foreach (var channel in channels)
            channel.AsSpan(count, LookBack).CopyTo(channel);
    }

    /// <summary>Adds what was measured to what the file says of itself.</summary>
    public RecordingFacts Onto(RecordingFacts facts)
    {
        facts = facts with { Frames = frames, HasNonFinite = leftOut.Any(n => n > 0) };
        if (frames == 0)
            return facts;
        var silent = levels.Peak == 0;
        var spectrum = OpeningSpectrum.Of(opening.Kept, format.SampleRate);
        return time.Onto(facts) with
        {
            SamplePeakDbfs = Decibels.OfMagnitude(levels.Peak),
            TruePeakDbtp = Decibels.OfMagnitude(truePeak.Peak),
            ClippedRuns = levels.ClippedRuns,
            ClippedAt = levels.ClippedAt,
            Silent = silent && !facts.HasNonFinite,
            DcOffset = [.. Enumerable.Range(0, channels.Length).Select(c => levels.SumOf(c) / Math.Max(1, frames - leftOut[c]))],
            SilentChannels = silent ? [] : [.. Enumerable.Range(0, channels.Length).Where(levels.IsSilent)],
            ChannelsIdentical = likeness.AreIdentical(levels.Peak) && !silent,
            ChannelsInverted = likeness.AreInverted(levels.Peak) && !silent,
            LoudnessLufs = loudness.Integrated,
            MomentaryMaxLufs = loudness.MomentaryMax,
            BrightnessHz = spectrum?.Centroid(),
            Pitch = spectrum is null ? null : PitchEstimator.Of(spectrum, format.SampleRate),
            Outline = outline.Finish(),
        };
    }

    private void TakeStretch(int at, int length)
    {
        var (peak, loudest) = (0.0, 0);
        for (var channel = 0; channel < channels.Length; channel++)
        {
            var samples = channels[channel].AsSpan(at, length);
            var stretch = Stretch.Of(samples);
            levels.Take(channel, samples, stretch, frames);
            truePeak.Take(channel, channels[channel].AsSpan(at - LookBack, length + LookBack), stretch.Peak);
            time.Take(channel, stretch);
            outline.Take(stretch);
            if (stretch.Peak > time.Onsets.Record)
                time.Onsets.Take(samples, frames);
            if (stretch.Peak > peak)
                (peak, loudest) = (stretch.Peak, channel);
        }
        time.Onsets.Raise(peak);
        opening.Meet(peak, loudest);
        if (opening.Wanted is { } wanted)
            opening.Take(channels[wanted].AsSpan(at, length));
        if (length == time.FramesLeft)
            outline.EndPart();
        time.Advance(length);
    }

    private void Part(ReadOnlySpan<double> interleaved, int count)
    {
        if (channels.Length == 1)
        {
            interleaved.CopyTo(channels[0].AsSpan(LookBack));
            return;
        }
        for (var channel = 0; channel < channels.Length; channel++)
        {
            var to = channels[channel].AsSpan(LookBack, count);
            for (int i = 0, from = channel; i < to.Length; i++, from += channels.Length)
                to[i] = interleaved[from];
        }
    }

    private void LeaveOut(Span<double> interleaved)
    {
        for (var i = 0; i < interleaved.Length; i++)
        {
            if (Math.Abs(interleaved[i]) <= Limit)
                continue;
            interleaved[i] = 0;
            leftOut[i % format.Channels]++;
        }
    }
}
