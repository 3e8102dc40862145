namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>Plays one stroke (struck, plucked, held), many (rolled), or a lift, into a block of frames.</summary>
internal static class Strokes
{
    private const double SixtyDecibels = 6.907755278982137;
    /// <summary>How much brighter a harder stroke is: each octave above the pitch gains this power of the strength.</summary>
    private const double Brightening = 0.55;
    /// <summary>The ear's loudest cut-off a knock is given, as a share of the sample rate.</summary>
    private const double HighestShare = 0.45;

    public static void Play(Voice voice, Sound sound, double hertz, double stretch, int sampleRate, Span<double> frames, SplitMix chance)
    {
        if (sound.IsLift)
        {
            Burst(new Noise(0, 900, 0.09), 0.5, sampleRate, frames, chance);
            Tone(voice, sound, hertz, 0.06, sampleRate, frames, chance, gain: 0.5);
            return;
        }
        if (!sound.IsRolled)
        {
            Stroke(voice, sound, hertz, stretch, sampleRate, frames, chance, 1);
            return;
        }
        for (double at = 0; at < frames.Length * 0.55; at += sampleRate / voice.RollsPerSecond * (1 + (0.06 * chance.Signed())))
        {
            var swell = 0.45 + (0.55 * Math.Min(1, at / (frames.Length * 0.3)));
            Stroke(voice, sound, hertz, stretch * 0.8, sampleRate, frames[(int)at..], chance, swell * (0.85 + (0.15 * chance.Unit())));
        }
    }

    private static void Stroke(
        Voice voice, Sound sound, double hertz, double stretch, int sampleRate, Span<double> frames, SplitMix chance, double gain)
    {
        Tone(voice, sound, hertz, stretch, sampleRate, frames, chance, gain);
        if (voice.Knock is { } knock)
            Burst(knock, gain * (0.35 + (0.65 * sound.Strength)), sampleRate, frames, chance);
        if (voice.Breath is { } breath)
            Breathe(voice, breath, gain, sampleRate, frames, chance);
        if (voice.Wobble > 0)
            Wobble(voice, sampleRate, frames, chance.Unit());
    }

    private static void Tone(
        Voice voice, Sound sound, double hertz, double stretch, int sampleRate, Span<double> frames, SplitMix chance, double gain)
    {
        foreach (var partial in voice.Partials)
        {
            var pitch = hertz * partial.Ratio;
            var level = gain * ExactMath.Amplitude(partial.Level + (1.2 * chance.Signed()))
                * ExactMath.Exp(Brightening * Octaves(partial.Ratio) * LogOfStrength(sound));
            var phase = voice.HeldSeconds > 0 || voice.Loops ? 2 * Math.PI * chance.Unit() : 0;
            if (pitch < HighestShare * sampleRate)
                Phasor(voice, pitch, level, FallOf(voice, sound, partial.Seconds * stretch, sampleRate), phase, sampleRate, frames);
        }
    }

    private static void Phasor(
        Voice voice, double pitch, double level, double fall, double phase, int sampleRate, Span<double> frames)
    {
        var turn = 2 * Math.PI * pitch / sampleRate;
        double cos = ExactMath.Cos(turn), sin = ExactMath.Sin(turn);
        double x = level * ExactMath.Cos(phase), y = level * ExactMath.Sin(phase);
        var held = (int)(voice.HeldSeconds * sampleRate);
        var rise = Math.Max(1, voice.AttackSeconds * sampleRate);
        for (var i = 0; i < frames.Length; i++)
        {
            frames[i] += i < rise ? y * Ease(i / rise) : y;
            (x, y) = ((x * cos) - (y * sin), (x * sin) + (y * cos));
            if (i < held)
                continue;
            x *= fall;
            y *= fall;
        }
    }

    /// <summary>What is left after one frame: a reed that is blown holds, but let go it dies like anything else.</summary>
    private static double FallOf(Voice voice, Sound sound, double seconds, int sampleRate) =>
        voice.Loops && !sound.IsLift ? 1 : ExactMath.Exp(-SixtyDecibels / (seconds * sampleRate));

    private static void Burst(Noise noise, double gain, int sampleRate, Span<double> frames, SplitMix chance)
    {
        var level = gain * ExactMath.Amplitude(noise.Level);
        var fall = ExactMath.Exp(-SixtyDecibels / (noise.Seconds * sampleRate));
        var filter = new TwoPole(noise.CutoffHertz, sampleRate);
        for (var i = 0; i < frames.Length && level > 1e-6; i++, level *= fall)
            frames[i] += filter.Next(level * chance.Signed());
    }

    private static void Breathe(Voice voice, Noise breath, double gain, int sampleRate, Span<double> frames, SplitMix chance)
    {
        var level = gain * ExactMath.Amplitude(breath.Level);
        var filter = new TwoPole(breath.CutoffHertz, sampleRate);
        var held = voice.Loops ? frames.Length : (int)(voice.HeldSeconds * sampleRate);
        var rise = Math.Max(1, voice.AttackSeconds * 0.6 * sampleRate);
        var fall = ExactMath.Exp(-SixtyDecibels / (0.4 * sampleRate));
        for (var i = 0; i < frames.Length; i++)
        {
            frames[i] += filter.Next(level * chance.Signed()) * (i < rise ? Ease(i / rise) : 1);
            if (i >= held)
                level *= fall;
        }
    }

    private static void Wobble(Voice voice, int sampleRate, Span<double> frames, double phase)
    {
        var turn = 2 * Math.PI * voice.WobbleHertz / sampleRate;
        for (var i = 0; i < frames.Length; i++)
            frames[i] *= 1 - (voice.Wobble * (0.5 + (0.5 * ExactMath.Sin((turn * i) + (2 * Math.PI * phase)))));
    }

    private static double Ease(double share) => share * share * (3 - (2 * share));

    // Base-2 logarithms by halving: exact enough for a weight, and the same everywhere.
    private static double Octaves(double ratio)
    {
        double octaves = 0;
        for (; ratio >= 2; ratio /= 2)
            octaves++;
        for (; ratio < 1; ratio *= 2)
            octaves--;
        return octaves + ((ratio - 1) * (1.3437 - (0.3437 * ratio)));
    }

    private static double LogOfStrength(Sound sound) => 0.6931471805599453 * Octaves(sound.Strength);
}
