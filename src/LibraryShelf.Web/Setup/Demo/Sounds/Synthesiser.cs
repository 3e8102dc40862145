namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>A rendered recording: interleaved frames (±1 = full scale) and its loop, first and last frame both sounding.</summary>
internal sealed record Rendering(double[] Frames, int Channels, int SampleRate, (int First, int Last)? Loop);

/// <summary>
/// Makes one recording of a <see cref="Voice"/>: a moment of room tone, then the strokes. Additive: each partial is a decaying
/// phasor. The same <see cref="Sound"/> gives the same numbers on every machine.
/// </summary>
internal static class Synthesiser
{
    /// <summary>Room tone under every recording, dB below full scale.</summary>
    private const double RoomDecibels = -84;
    private const double LiftSeconds = 0.3;
    /// <summary>Lifts lie this far under the hardest layer, dB.</summary>
    private const double LiftDecibels = -22;
    private const double LongestSeconds = 2.5;
    /// <summary>A rolled recording is this much longer than a struck one.</summary>
    private const double RolledLength = 1.7;
    /// <summary>Share of a recording over which it is faded into the room.</summary>
    private const double FadeShare = 0.3;

    public static Rendering Render(Voice voice, Sound sound, int sampleRate)
    {
        var chance = SplitMix.For(sound.Seed);
        var stretch = Math.Max(0.35, ExactMath.Exp((sound.Key - voice.MiddleKey) / 12.0 * Math.Max(-0.9, LogOf(voice.DecayPerOctave))));
        var hertz = voice.Hertz ?? ExactMath.Hertz(sound.Key, voice.StretchCents * (sound.Key - voice.MiddleKey) / 12.0);
        hertz *= ExactMath.Exp(voice.SpreadCents * chance.Signed() * 0.00057762265);
        var leadIn = (int)(sampleRate * (0.002 + (0.005 * chance.Unit())));
        var seconds = Seconds(voice, sound, stretch);
        var mono = new double[voice.Channels][];
        for (var channel = 0; channel < voice.Channels; channel++)
        {
            mono[channel] = new double[(int)(seconds * sampleRate)];
            Strokes.Play(voice, sound, hertz, stretch, sampleRate, mono[channel].AsSpan(leadIn), chance);
        }
        var loop = voice.Loops && !sound.IsLift ? Loops.Over(mono, hertz, sampleRate) : ((int, int)?)null;
        if (loop is null)
            FadeOut(mono);
        Level(mono, PeakDecibels(voice, sound, chance));
        if (loop is null)
            RoomTone(mono, chance);
        return new Rendering(Interleave(mono), voice.Channels, sampleRate, loop);
    }

    private static double Seconds(Voice voice, Sound sound, double stretch) =>
        sound.IsLift ? LiftSeconds
        : voice.Loops ? voice.Seconds
        : Math.Min(LongestSeconds, voice.Seconds * Math.Sqrt(stretch) * (sound.IsRolled ? RolledLength : 1));

    private static double PeakDecibels(Voice voice, Sound sound, SplitMix chance) =>
        sound.IsLift
            ? voice.PeakDecibels + LiftDecibels - chance.Unit()
            : voice.PeakDecibels - (voice.LayerRange * (1 - sound.Strength)) - (0.8 * chance.Unit());

    // ln over the recipe's few values (0.3 to 1), by its series in (x-1)/(x+1).
    private static double LogOf(double x)
    {
        var y = (x - 1) / (x + 1);
        double power = y, sum = 0;
        for (var n = 1; n < 40; n += 2)
        {
            sum += power / n;
            power *= y * y;
        }
        return 2 * sum;
    }

    private static void FadeOut(double[][] channels)
    {
        foreach (var frames in channels)
        {
            var from = (int)(frames.Length * (1 - FadeShare));
            for (var i = from; i < frames.Length; i++)
                frames[i] *= 0.5 + (0.5 * ExactMath.Cos(Math.PI * (i - from) / (frames.Length - from)));
        }
    }

    private static void Level(double[][] channels, double decibels)
    {
        var peak = 1e-9;
        foreach (var frames in channels)
        {
            foreach (var frame in frames)
                peak = Math.Max(peak, Math.Abs(frame));
        }
        var gain = ExactMath.Amplitude(decibels) / peak;
        foreach (var frames in channels)
        {
            for (var i = 0; i < frames.Length; i++)
                frames[i] *= gain;
        }
    }

    private static void RoomTone(double[][] channels, SplitMix chance)
    {
        var level = ExactMath.Amplitude(RoomDecibels);
        foreach (var frames in channels)
        {
            for (var i = 0; i < frames.Length; i++)
                frames[i] += level * chance.Signed();
        }
    }

    private static double[] Interleave(double[][] channels)
    {
        if (channels.Length == 1)
            return channels[0];
        var frames = new double[channels.Length * channels[0].Length];
        for (var channel = 0; channel < channels.Length; channel++)
        {
            for (var i = 0; i < channels[channel].Length; i++)
                frames[(i * channels.Length) + channel] = channels[channel][i];
        }
        return frames;
    }
}
