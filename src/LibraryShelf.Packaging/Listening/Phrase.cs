using LibraryShelf.Audio.Previews;

namespace LibraryShelf.Packaging.Listening;

/// <summary>A key struck in a phrase: when, seconds from its start; how hard, 1 to 127; how long it is held.</summary>
internal sealed record Stroke(double At, int Key, int Velocity, double Held);

/// <summary>
/// The short phrases that say what a library sounds like, and how a phrase is played through its mapping: two channels at 48 kHz. The same library gives the same
/// phrases.
/// </summary>
internal sealed class Phrase(IReadOnlyList<PlayedRegion> regions, PlayedSounds sounds)
{
    private const int MostNotes = 12, MostSteps = 8, Softest = 30, Firm = 96, Hardest = 127;
    /// <summary>Of a recording no more is read for one stroke, however fast it is played, seconds.</summary>
    private const double MostRead = 60;

    /// <summary>Beyond six octaves from as it was recorded, to either side, a recording is no sound of its key any more. Common practice, no source.</summary>
    private const double Slowest = 1 / 64.0, Fastest = 64;

    private const double Between = 0.34, LastHeld = 1.6, Longest = 12, Fade = 0.3;

    /// <summary>Semitones over C that sound well in any order and together.</summary>
    private static readonly int[] Scale = [0, 2, 4, 7, 9];

    /// <summary>Up through the range, soft to hard, and three of its keys together at the end.</summary>
    public static List<Stroke> OverTheRange(IReadOnlyList<PlayedRegion> way, bool isPitched)
    {
        var all = Keys(way);
        var keys = isPitched && all.Where(IsOfScale).ToList() is { Count: >= 3 } scale ? scale : all;
        var count = Math.Min(MostNotes, keys.Count);
        var strokes = Enumerable.Range(0, count).Select(i => new Stroke(
            i * Between, Spread(keys, i, count), count == 1 ? Firm : Softest + (Hardest - Softest) * i / (count - 1), 1.5 * Between)).ToList();
        var apart = keys.Count < 5 ? 1 : 2;
        if (isPitched && keys.Count >= 3)
            strokes.AddRange(Enumerable.Range(0, 3).Select(i => new Stroke((count + 1) * Between, keys[(keys.Count - 1) / 2 + (i - 1) * apart], Firm, LastHeld)));
        return strokes;
    }

    /// <summary>One key in the middle, each layer from soft to hard, each take; null when it has one of each.</summary>
    public static List<Stroke>? SoftToHard(IReadOnlyList<PlayedRegion> way)
    {
        var keys = Keys(way);
        var key = keys[keys.Count / 2];
        var on = way.Where(r => !r.IsLift && r.LowKey <= key && key <= r.HighKey).ToList();
        var bands = on.GroupBy(r => r.HighVelocity).OrderBy(g => g.Key).Select(g => (Velocity: g.Key, Takes: g.Select(r => r.Take).Distinct().Count())).ToList();
        if (bands.Sum(b => b.Takes) < 2)
            return null;
        var steps = bands.SelectMany(b => Enumerable.Repeat(b.Velocity, Math.Min(b.Takes, 2))).ToList();
        var count = Math.Min(MostSteps, steps.Count);
        return [.. Enumerable.Range(0, count).Select(i => new Stroke(1.6 * Between * i, key, Spread(steps, i, count), i == count - 1 ? LastHeld : 1.5 * Between))];
    }

    public Sound Play(IReadOnlyList<Stroke> strokes)
    {
        var mixed = new float[(int)(Longest * OggOpus.SampleRate) * 2];
        var (end, turns) = (0, new Dictionary<(int Key, int Band), int>());
        foreach (var stroke in strokes)
        {
            var sounding = Sounding(stroke);
            if (sounding.Count == 0)
                continue;
            var turn = turns[(stroke.Key, sounding[0].LowVelocity)] = turns.GetValueOrDefault((stroke.Key, sounding[0].LowVelocity), -1) + 1;
            var takes = sounding.Select(r => r.Take).Distinct().Order().ToList();
            foreach (var region in sounding.Where(r => r.Take == takes[turn % takes.Count]))
                end = Math.Max(end, Mix(mixed, region, stroke));
        }
        return PlayedSounds.Faded(new Sound(mixed.AsMemory(0, 2 * end), 2, OggOpus.SampleRate), Fade);
    }

    /// <summary>Where nothing sounds so softly or so hard, what comes nearest to it.</summary>
    private List<PlayedRegion> Sounding(Stroke stroke)
    {
        var on = regions.Where(r => !r.IsLift && r.LowKey <= stroke.Key && stroke.Key <= r.HighKey).ToList();
        int Off(PlayedRegion r) => Math.Abs(stroke.Velocity - Math.Clamp(stroke.Velocity, r.LowVelocity, r.HighVelocity));
        return on.Count == 0 ? on : on.FindAll(r => Off(r) == on.Min(Off));
    }

    /// <returns>The frame after its last.</returns>
    private int Mix(float[] mixed, PlayedRegion region, Stroke stroke)
    {
        const int rate = OggOpus.SampleRate;
        var speed = region.SpeedOn(stroke.Key);
        // A mapping may ask for any pitch and any release; the phrase is over at its end.
        var heard = region.IsOneShot ? 3 : Math.Min(Longest, stroke.Held + region.ReleaseSeconds);
        if (!(speed is >= Slowest and <= Fastest) || Looped(region, Math.Min(MostRead, heard * speed)) is not { } sound)
            return 0;
        sound = Resampler.Read(sound, speed, rate);
        if (!region.IsOneShot && sound.Seconds > heard)
            sound = sound with { Samples = sound.Samples[..((int)(heard * rate) * sound.Channels)] };
        var released = region.IsOneShot ? double.MaxValue : stroke.Held;
        var (first, gain) = ((int)(stroke.At * rate), region.GainAt(stroke.Velocity) * Math.Pow(10, region.VolumeDb / 20));
        var samples = sound.Samples.Span;
        var frames = Math.Min(sound.Frames, mixed.Length / 2 - first);
        for (var i = 0; i < frames; i++)
        {
            var let = Math.Max(0, (double)i / rate - released) / region.ReleaseSeconds;
            var now = (float)(let <= 0 ? gain : gain * Math.Max(0, 1 - let));
            mixed[2 * (first + i)] += now * samples[i * sound.Channels];
            mixed[2 * (first + i) + 1] += now * samples[i * sound.Channels + sound.Channels - 1];
        }
        return first + frames;
    }

    /// <summary>So many seconds of the recording, its loop gone round as often as that takes.</summary>
    private Sound? Looped(PlayedRegion region, double seconds)
    {
        if (region.Loop is not { } loop || sounds.Read(region, Longest) is not { } sound || !sounds.LengthOf(region, Longest).IsLooped)
            return sounds.Read(region, seconds + Fade);
        var (first, length) = ((int)(loop.First - region.Offset), (int)(loop.Last - loop.First + 1));
        var frames = (int)(seconds * sound.SampleRate);
        var samples = new float[frames * sound.Channels];
        for (var i = 0; i < frames; i++)
        {
            var from = i < first + length ? i : first + (i - first) % length;
            for (var channel = 0; channel < sound.Channels; channel++)
                samples[i * sound.Channels + channel] = sound.Samples.Span[from * sound.Channels + channel];
        }
        return sound with { Samples = samples };
    }

    private static List<int> Keys(IReadOnlyList<PlayedRegion> way) =>
        [.. way.Where(r => !r.IsLift).SelectMany(r => Enumerable.Range(r.LowKey, r.HighKey - r.LowKey + 1)).Distinct().Order()];

    private static bool IsOfScale(int key) => Scale.Contains(key % 12);

    private static int Spread(List<int> of, int index, int count) => of[count == 1 ? of.Count / 2 : index * (of.Count - 1) / (count - 1)];
}
