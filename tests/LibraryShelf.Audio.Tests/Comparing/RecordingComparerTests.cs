using LibraryShelf.Audio.Comparing;

namespace LibraryShelf.Audio.Tests.Comparing;

/// <summary>What was done to a recording is known here, because it is done here: the comparer must say exactly that.</summary>
public sealed class RecordingComparerTests
{
    private const int Rate = 48000;

    /// <summary>A struck sound: partials that die away over a breath of noise, so that no stretch repeats.</summary>
    private static double[] Struck(int seed, double seconds = 1.5, double hz = 220)
    {
        var random = new Random(seed);
        var phases = Enumerable.Range(0, 8).Select(_ => random.NextDouble() * 2 * Math.PI).ToArray();
        return Signals.Made(seconds, Rate, i => Math.Exp(-3.0 * i / Rate) * (0.02 * (random.NextDouble() - 0.5)
            + 0.4 * Enumerable.Range(1, 8).Sum(p => Math.Sin(2 * Math.PI * hz * p * i / Rate + phases[p - 1]) / (p * p))) * Math.Min(1, i / 40.0));
    }

    private static RecordingLikeness Compare(byte[] old, byte[] next) => RecordingComparer.Compare(() => new MemoryStream(old), () => new MemoryStream(next));

    /// <summary>Samples as a file of 16 or 24 bits, or 32 float; dither is TPDF of one step.</summary>
    private static byte[] Wav(double[] samples, int bits, int channels = 1, int? ditherSeed = null, int rate = Rate)
    {
        var random = ditherSeed is { } seed ? new Random(seed) : null;
        if (bits == 32)
            return WavFile.Float(samples, channels, rate);
        var scale = Math.Pow(2, bits - 1);
        return WavFile.Whole(samples.Select(x => (long)Math.Clamp(
            Math.Round(x * scale + (random is null ? 0 : random.NextDouble() - random.NextDouble())), -scale, scale - 1)), bits, channels, rate);
    }

    private static double[] Times(double[] samples, double decibels) => [.. samples.Select(x => x * Math.Pow(10, decibels / 20))];

    public static TheoryData<double, int, bool> Gains()
    {
        var data = new TheoryData<double, int, bool>();
        foreach (var decibels in (double[])[0.1, -0.1, 1, -1, -6, 3, -20])
            foreach (var bits in (int[])[16, 24, 32])
                foreach (var dither in (bool[])[false, true])
                    if (bits != 32 || !dither)
                        data.Add(decibels, bits, dither);
        return data;
    }

    [Theory, MemberData(nameof(Gains))]
    public void A_gain_is_told_to_a_thousandth_of_a_decibel(double decibels, int bits, bool dither)
    {
        var sound = Struck(1);
        var found = Compare(Wav(sound, 24), Wav(Times(sound, decibels), bits, ditherSeed: dither ? 7 : null));
        Assert.Equal(LikenessKind.Level, found.Kind);
        Assert.InRange(found.GainDb, decibels - 0.005, decibels + 0.005);
        Assert.False(found.IsInverted);
    }

    [Fact]
    public void The_same_samples_in_other_bits_are_the_same()
    {
        var sixteen = Wav(Struck(2), 16);
        Assert.Equal(LikenessKind.Same, Compare(sixteen, sixteen).Kind);
        // The 16 bits once more, in 24 and as floats.
        var samples = new List<double>();
        RecordingReader.Read(new MemoryStream(sixteen), (block, _) => samples.AddRange(block));
        Assert.Equal(LikenessKind.Same, Compare(sixteen, Wav([.. samples], 24)).Kind);
        Assert.Equal(LikenessKind.Same, Compare(sixteen, Wav([.. samples], 32)).Kind);
    }

    [Theory]
    [InlineData(1, 0)]
    [InlineData(0, 1)]
    [InlineData(47, 0)]
    [InlineData(480, 12_345)]
    [InlineData(4_801, 0)]
    [InlineData(0, 50_000)]
    [InlineData(50_000, 0)]
    [InlineData(-1_000, 0)]
    [InlineData(-33, 700)]
    [InlineData(0, -20_000)]
    public void A_trim_is_told_to_the_frame(int head, int tail)
    {
        var sound = Struck(3, seconds: 3);
        double[] next = [.. new double[Math.Max(0, -head)], .. sound.Skip(Math.Max(0, head)).SkipLast(Math.Max(0, tail)), .. new double[Math.Max(0, -tail)]];
        var found = Compare(Wav(sound, 24), Wav(next, 24));
        Assert.Equal((LikenessKind.Trimmed, head, tail), (found.Kind, found.CutHead, found.CutTail));
        Assert.Equal(0, found.GainDb);
        // And the other way round: put back what was cut.
        var back = Compare(Wav(next, 24), Wav(sound, 24));
        Assert.Equal((LikenessKind.Trimmed, -head, -tail), (back.Kind, back.CutHead, back.CutTail));
    }

    // Frames at 48 kHz; the openings by which two are aligned first are 253,952 frames (5.3 s) long.
    [Theory]
    [InlineData(300_000, 0)]
    [InlineData(312_345, 77_777)]
    [InlineData(700_001, 0)]
    [InlineData(-400_000, 0)]
    public void A_trim_beyond_the_opening_is_told_to_the_frame(int head, int tail)
    {
        var sound = Long(5, seconds: 20);
        double[] next = [.. new double[Math.Max(0, -head)], .. sound.Skip(Math.Max(0, head)).SkipLast(tail)];
        var found = Compare(Wav(sound, 24), Wav(Times(next, -3), 24));
        Assert.Equal((LikenessKind.Trimmed, head, tail), (found.Kind, found.CutHead, found.CutTail));
        Assert.InRange(found.GainDb, -3.005, -2.995);
    }

    [Theory]
    [InlineData(5, 6)]
    [InlineData(7, 8)]
    public void Another_take_of_twenty_seconds_is_another_recording(int seed, int other) =>
        Assert.Equal(LikenessKind.Other, Compare(Wav(Long(seed, seconds: 20), 24), Wav([.. Long(other, seconds: 20).Skip(300_000)], 24)).Kind);

    /// <summary>A sound that dies away over twenty seconds and more and wavers, as strings do that beat against each other.</summary>
    private static double[] Long(int seed, double seconds)
    {
        const int knot = 1_500;
        var random = new Random(seed);
        var loudness = Enumerable.Range(0, (int)(seconds * Rate / knot) + 2).Select(_ => 0.5 + 0.5 * random.NextDouble()).ToArray();
        return Signals.Made(seconds, Rate, i =>
        {
            var (at, share) = (i / knot, i % knot / (double)knot);
            return Math.Exp(-0.15 * i / Rate) * ((1 - share) * loudness[at] + share * loudness[at + 1])
                * (0.02 * (random.NextDouble() - 0.5) + 0.4 * Math.Sin(2 * Math.PI * 220 * i / Rate) + 0.2 * Math.Sin(2 * Math.PI * 441.3 * i / Rate));
        });
    }

    [Theory]
    [InlineData(480, 0)]
    [InlineData(0, 4_800)]
    [InlineData(96, 24_000)]
    [InlineData(2_400, 40_000)]
    public void A_fade_is_told_whatever_its_curve(int fadeIn, int fadeOut)
    {
        var sound = Struck(4);
        foreach (var curve in (Func<double, double>[])[x => x, x => Math.Sin(x * Math.PI / 2), x => 0.5 - 0.5 * Math.Cos(x * Math.PI), x => x * x])
        {
            var next = sound.Select((x, i) => x * 0.5
                * (i < fadeIn ? curve((double)i / fadeIn) : 1) * (sound.Length - i < fadeOut ? curve((double)(sound.Length - i) / fadeOut) : 1)).ToArray();
            var found = Compare(Wav(sound, 24), Wav(next, 24, ditherSeed: 5));
            Assert.Equal((LikenessKind.Trimmed, fadeIn > 0, fadeOut > 0, 0L, 0L), (found.Kind, found.IsFadedIn, found.IsFadedOut, found.CutHead, found.CutTail));
            Assert.InRange(found.GainDb, -6.03, -6.01);
        }
    }

    [Fact]
    public void A_trim_a_gain_and_a_fade_together_are_still_the_same_recording()
    {
        var sound = Struck(5, seconds: 3);
        var cut = Times([.. sound.Skip(2_000).SkipLast(30_000)], -3);
        var faded = cut.Select((x, i) => x * Math.Min(1, (cut.Length - i) / 10_000.0)).ToArray();
        var found = Compare(Wav(sound, 24), Wav(faded, 16, ditherSeed: 8));
        Assert.Equal((LikenessKind.Trimmed, 2_000L, 30_000L, true), (found.Kind, found.CutHead, found.CutTail, found.IsFadedOut));
        Assert.InRange(found.GainDb, -3.01, -2.99);
    }

    [Fact]
    public void Another_take_is_another_recording()
    {
        // The same partials with the same phases over another breath of noise: as near as two takes can be, and nearer than any real ones.
        var quiet = new Random(99);
        var sound = Struck(6);
        double[] near = [.. sound.Select(x => x + 0.001 * (quiet.NextDouble() - 0.5))];
        Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(near, 24)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(Struck(7), 24)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(Struck(6, hz: 221), 24)).Kind);
    }

    [Fact]
    public void One_click_taken_out_is_another_recording()
    {
        var sound = Struck(8);
        double[] clicked = [.. sound];
        clicked[30_000] += 0.01;
        Assert.Equal(LikenessKind.Other, Compare(Wav(clicked, 24), Wav(sound, 24)).Kind);
    }

    [Fact]
    public void A_filter_or_a_fade_in_the_middle_is_another_recording()
    {
        var sound = Struck(9);
        double[] filtered = [.. sound.Select((x, i) => i == 0 ? x : 0.9 * x + 0.1 * sound[i - 1])];
        double[] dipped = [.. sound.Select((x, i) => i is > 20_000 and < 24_000 ? 0.5 * x : x)];
        Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(filtered, 24)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(dipped, 24)).Kind);
    }

    [Fact]
    public void Upside_down_is_said()
    {
        var sound = Struck(10);
        var found = Compare(Wav(sound, 24), Wav(Times([.. sound.Select(x => -x)], -2), 24));
        Assert.Equal((LikenessKind.Level, true), (found.Kind, found.IsInverted));
        Assert.InRange(found.GainDb, -2.001, -1.999);
    }

    [Fact]
    public void Made_louder_until_it_clips_it_is_still_the_same_recording()
    {
        var sound = Struck(11);
        var found = Compare(Wav(sound, 24), Wav([.. Times(sound, 9).Select(x => Math.Clamp(x, -1, 1))], 24));
        Assert.Equal(LikenessKind.Level, found.Kind);
        Assert.InRange(found.GainDb, 8.99, 9.01);
    }

    [Fact]
    public void Two_channels_are_compared_in_both()
    {
        var (left, right) = (Struck(12), Struck(13));
        var old = Wav(Signals.Interleaved(left, right), 24, channels: 2);
        Assert.Equal(LikenessKind.Level, Compare(old, Wav(Times(Signals.Interleaved(left, right), -4), 24, channels: 2)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(old, Wav(Signals.Interleaved(left, Times(right, -4)), 24, channels: 2)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(old, Wav(left, 24)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav(left, 24), Wav(left, 24, rate: 44100)).Kind);
    }

    [Fact]
    public void A_held_tone_of_which_any_period_fits_is_told_by_its_length()
    {
        var tone = Signals.Sine(480, -12, 2);
        Assert.Equal(LikenessKind.Level, Compare(Wav(tone, 24), Wav(Times(tone, -3), 24)).Kind);
        var found = Compare(Wav(tone, 24), Wav([.. tone.SkipLast(4_800)], 24));
        Assert.Equal((LikenessKind.Trimmed, 4_800L), (found.Kind, found.CutHead + found.CutTail));
    }

    [Fact]
    public void Nothing_or_next_to_nothing_is_no_trouble()
    {
        var silence = Wav(new double[5_000], 16);
        Assert.Equal(LikenessKind.Same, Compare(silence, silence).Kind);
        Assert.Equal(LikenessKind.Trimmed, Compare(silence, Wav(new double[4_000], 16)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(silence, Wav(Struck(14), 16)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav(Struck(14), 16), silence).Kind);
        Assert.Equal(LikenessKind.Same, Compare(Wav([0.5], 16), Wav([0.5], 16)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav([0.5, 0.25], 16), Wav([0.25, 0.5], 16)).Kind);
        var constant = Enumerable.Repeat(0.25, 6_000).ToArray();
        Assert.Equal(LikenessKind.Level, Compare(Wav(constant, 24), Wav(Times(constant, -6), 24)).Kind);
        Assert.Equal(LikenessKind.Other, Compare(Wav([], 16), Wav(Struck(14), 16)).Kind);
        Assert.Equal(LikenessKind.Other, Compare("no recording"u8.ToArray(), silence).Kind);
    }

    [Fact]
    public void Awkward_lengths_round_a_piece_are_held_whole()
    {
        foreach (var length in (int[])[63, 64, 65, 1023, 1024, 1025, 4095, 4096, 4097, 8191, 8192, 8193])
        {
            var sound = Struck(15, seconds: (double)length / Rate);
            Assert.Equal(length, sound.Length);
            Assert.Equal(LikenessKind.Level, Compare(Wav(sound, 24), Wav(Times(sound, -5), 24)).Kind);
            double[] last = [.. sound[..^1], sound[^1] + 0.1];
            Assert.Equal(LikenessKind.Other, Compare(Wav(sound, 24), Wav(last, 24)).Kind);
        }
    }
}
