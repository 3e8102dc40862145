using System.Text.Json;
using LibraryShelf.Audio.Tests.Files;
using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Measures;

/// <summary>Lengths, levels and channels that meters trip over. No fact is ever NaN or infinite: JSON refuses both.</summary>
public sealed class AwkwardTests
{
    public static TheoryData<string> Inputs => [.. All().Select(a => a.Name)];

    [Theory]
    [MemberData(nameof(Inputs))]
    public void Facts_are_numbers_or_absent(string name)
    {
        var (_, channels, rate, samples) = All().Single(a => a.Name == name);
        var facts = Measure(samples, channels, rate);
        Assert.Equal(samples.Length / channels, facts.Frames);
        Assert.NotEmpty(JsonSerializer.Serialize(facts)); // throws on NaN and Infinity
        Assert.True(facts.TruePeakDbtp is null == facts.SamplePeakDbfs is null);
        Assert.True(facts.TruePeakDbtp is null || facts.TruePeakDbtp >= facts.SamplePeakDbfs);
    }

    [Theory]
    [InlineData(0.0)]
    [InlineData(0.399)]
    [InlineData(3.0)]
    public void Silence_has_no_levels_times_or_pitch(double seconds)
    {
        var facts = Measure(Silence(seconds));
        Assert.Equal(
            new double?[] { null, null, null, null, null, null, null, null, null, null, null, null },
            [facts.SamplePeakDbfs, facts.TruePeakDbtp, facts.LoudnessLufs, facts.MomentaryMaxLufs, facts.LoudestRmsDbfs, facts.LeadInMs,
                facts.AttackMs, facts.Decay20Ms, facts.Decay60Ms, facts.TailDbfs, facts.NoiseFloorDbfs, facts.BrightnessHz]);
        Assert.Null(facts.Pitch);
        Assert.Equal(seconds > 0, facts.Silent);
        Assert.Empty(facts.SilentChannels);
    }

    [Fact]
    public void A_full_scale_square_is_clipped_throughout()
    {
        var facts = Measure(Made(1, Rate, i => i / 240 % 2 == 0 ? 1 : -1));
        Assert.Equal(0, facts.SamplePeakDbfs!.Value, 9);
        Assert.Equal(0, facts.LoudestRmsDbfs!.Value, 6);
        Assert.True(facts.TruePeakDbtp > 0.3, $"{facts.TruePeakDbtp} dBTP: edges overshoot between the samples");
        Assert.Equal(1, facts.ClippedRuns); // both signs: it never leaves full scale
        Assert.Equal([0.0], facts.ClippedAt);
        Assert.Equal(0, facts.DcOffset[0], 9);
        Assert.Null(facts.NoiseFloorDbfs);
        Assert.Null(facts.Decay20Ms);
    }

    [Fact]
    public void Clipped_places_have_their_times_and_the_list_an_end()
    {
        var samples = Silence(2);
        for (var place = 0; place < 20; place++)
            samples.AsSpan(4800 * place + 480, 5).Fill(-1);
        var facts = Measure(samples);
        Assert.Equal(20, facts.ClippedRuns);
        Assert.Equal(Enumerable.Range(0, RecordingFacts.MostClippedAt).Select(p => 0.1 * p + 0.01), facts.ClippedAt, (a, b) => Math.Abs(a - b) < 1e-9);
    }

    [Fact]
    public void Channels_that_are_silent_alike_or_opposite()
    {
        var (tone, noise) = (Sine(440, -12, 0.5), Noise(-20, 0.5, seed: 1));
        RecordingFacts Of(params double[][] channels) => Measure(Interleaved(channels), channels.Length);

        Assert.Equal([1], Of(tone, Silence(0.5)).SilentChannels);
        var alike = Of(tone, tone);
        Assert.Equal((true, false), (alike.ChannelsIdentical, alike.ChannelsInverted));
        var opposite = Of(tone, [.. tone.Select(x => -x)]);
        Assert.Equal((false, true), (opposite.ChannelsIdentical, opposite.ChannelsInverted));
        var other = Of(tone, noise);
        Assert.Equal((false, false), (other.ChannelsIdentical, other.ChannelsInverted));
        Assert.Empty(other.SilentChannels);
        Assert.False(Of(tone, tone, noise).ChannelsIdentical);
        Assert.True(Of(tone, tone, tone).ChannelsIdentical);
        Assert.False(Measure(tone).ChannelsIdentical);
        // Brightness and pitch do not vanish with the sum of opposite channels.
        Assert.Equal(69, opposite.Pitch!.Note);
    }

    [Theory]
    [InlineData(1, 1, true)] // one step is rounding
    [InlineData(1, 2, false)]
    [InlineData(-1, 1, true)]
    [InlineData(-1, 2, false)]
    public void A_step_of_rounding_makes_no_stereo(int sign, int steps, bool isAlike)
    {
        var random = new Random(11);
        var samples = Enumerable.Range(0, 20000).SelectMany(i => (int)(3000 * Math.Sin(i * 0.05)) is var x ? new[] { (short)x, (short)(sign * x + random.Next(2) * steps) } : []);
        var facts = WavBytes.Pcm(2, 44100, 16).Data16([.. samples]).Read();
        Assert.Equal(isAlike, sign > 0 ? facts.ChannelsIdentical : facts.ChannelsInverted);
        // So near nothing that a step is much of the sound.
        var quiet = WavBytes.Pcm(2, 44100, 16).Data16([0, 1, 1, 1, 2, 1, 1, 0]).Read();
        Assert.Equal((false, false), (quiet.ChannelsIdentical, quiet.ChannelsInverted));
    }

    [Fact]
    public void DC_is_told_per_channel_and_hides_neither_the_noise_floor_nor_the_decay()
    {
        var pluck = Made(3, Rate, i => 0.5 * Math.Pow(10, -i / (20.0 * Rate) * 40) * Math.Sin(i * 0.05));
        var shifted = pluck.Select(x => x + 0.03).ToArray();
        var facts = Measure(Interleaved(pluck, shifted), 2);
        Assert.Equal(0, facts.DcOffset[0], 3);
        Assert.Equal(0.03, facts.DcOffset[1], 3);
        Assert.True(facts.NoiseFloorDbfs < -90, $"noise floor {facts.NoiseFloorDbfs}");
        Assert.InRange(facts.Decay60Ms!.Value, 1400, 1600);
        // 0.03 in one of two channels is −33.5 dBFS over both: the step at the cut.
        Assert.Equal(20 * Math.Log10(0.03) - 3.01, facts.TailDbfs!.Value, 0.1);
    }

    [Fact]
    public void Samples_that_are_no_numbers_leave_every_measure_alone()
    {
        var tone = Sine(440, -12, 1);
        var spoilt = (double[])tone.Clone();
        (spoilt[100], spoilt[20000], spoilt[30000], spoilt[40000]) = (double.NaN, double.PositiveInfinity, double.NegativeInfinity, 1e200);
        var (clean, facts) = (Measure(tone), Measure(spoilt));
        Assert.True(facts.HasNonFinite);
        Assert.Equal(clean.SamplePeakDbfs!.Value, facts.SamplePeakDbfs!.Value, 6);
        Assert.Equal(clean.LoudnessLufs!.Value, facts.LoudnessLufs!.Value, 0.01);
        Assert.Equal(0, facts.DcOffset[0], 4);
    }

    private static List<(string Name, int Channels, int Rate, double[] Samples)> All() =>
    [
        ("nothing", 1, Rate, []),
        ("one frame", 2, Rate, [0.5, -0.25]),
        ("one frame of silence", 1, Rate, [0]),
        ("399 ms", 1, 44100, Sine(100, -6, 0.399, 44100)),
        ("400 ms", 1, 44100, Sine(100, -6, 0.4, 44100)),
        ("a step", 1, Rate, Made(1, Rate, i => i < 24000 ? 0 : 1)),
        ("DC", 2, Rate, InAll(2, Made(1, Rate, _ => 0.25))),
        ("one click", 1, Rate, Made(1, Rate, i => i == 30000 ? 1 : 0)),
        ("the last sample", 1, Rate, Made(1, Rate, i => i == 47999 ? -1 : 0)),
        ("all NaN", 1, Rate, Made(1, Rate, _ => double.NaN)),
        ("all infinite", 2, Rate, Made(1, Rate, i => i % 2 == 0 ? double.PositiveInfinity : double.NegativeInfinity)),
        ("the greatest numbers", 1, Rate, Made(1, Rate, i => i % 2 == 0 ? double.MaxValue : -double.MaxValue)),
        ("as loud as is believed", 1, Rate, Made(1, Rate, i => 1e15 * Math.Sin(i * 0.1))),
        ("the least numbers", 2, Rate, Made(1, Rate, i => i % 2 == 0 ? double.Epsilon : -double.Epsilon)),
        ("a whisper of float", 1, Rate, Made(1, Rate, i => 1e-30 * Math.Sin(i * 0.1))),
        ("1 Hz", 1, 1, Made(100, 1, i => i % 3 - 1)),
        ("7 Hz", 3, 7, Noise(-6, 30, seed: 2, rate: 7)),
        ("ten million Hz", 1, 10_000_000, Noise(-6, 0.05, seed: 3, rate: 10_000_000)),
        ("64 channels", 64, Rate, Noise(-6, 0.64, seed: 4)),
    ];
}
