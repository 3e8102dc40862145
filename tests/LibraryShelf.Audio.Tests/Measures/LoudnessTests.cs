using LibraryShelf.Audio.Measures;
using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Measures;

public sealed class LoudnessTests
{
    /// <summary>ITU-R BS.1770-5 (November 2023), Annex 1, Tables 1 and 2.</summary>
    [Fact]
    public void Coefficients_at_48_kHz_are_the_standard_s()
    {
        var k = KWeighting.At(48000);
        Assert.Equal(1.53512485958697, k.ShelfB0, 12);
        Assert.Equal(-2.69169618940638, k.ShelfB1, 12);
        Assert.Equal(1.19839281085285, k.ShelfB2, 12);
        Assert.Equal(-1.69065929318241, k.ShelfA1, 12);
        Assert.Equal(0.73248077421585, k.ShelfA2, 12);
        Assert.Equal(-1.99004745483398, k.PassA1, 12);
        Assert.Equal(0.99007225036621, k.PassA2, 12);
    }

    /// <summary>"A 0 dB FS 997 Hz sine wave in the left, centre or right channel reads −3.01 LKFS" (BS.1770-5 Annex 1).</summary>
    [Theory]
    [InlineData(48000)]
    [InlineData(44100)]
    [InlineData(96000)]
    [InlineData(192000)]
    [InlineData(32000)]
    public void The_standard_s_own_case_at_any_rate(int rate)
    {
        var left = Sine(997, 0, 5, rate);
        Assert.Equal(-3.01, Measure(Interleaved(left, new double[left.Length]), 2, rate).LoudnessLufs!.Value, 0.01);
    }

    /// <summary>1 kHz at −23 dBFS in one channel only: −26.00, computed from the tables by another hand.</summary>
    [Fact]
    public void Mono_is_3_dB_less_than_stereo() => Assert.Equal(-26.00, Measure(Sine(1000, -23, 20)).LoudnessLufs!.Value, 0.1);

    /// <summary>What a full-scale mono sine reads at each frequency, from the tables' response, computed by another hand.</summary>
    [Theory]
    [InlineData(25, -14.094)]
    [InlineData(50, -7.635)]
    [InlineData(100, -4.834)]
    [InlineData(200, -3.966)]
    [InlineData(440, -3.693)]
    [InlineData(500, -3.659)]
    [InlineData(997, -3.010)]
    [InlineData(1000, -3.003)]
    [InlineData(2000, -0.630)]
    [InlineData(4000, 0.267)]
    [InlineData(8000, 0.338)]
    [InlineData(10000, 0.341)]
    [InlineData(12000, 0.342)]
    public void The_weighting_at_each_frequency(double hz, double expected) =>
        Assert.Equal(expected, Measure(Sine(hz, 0, 5)).LoudnessLufs!.Value, 0.005);

    [Fact]
    public void Bass_effects_do_not_count_and_surround_counts_more()
    {
        var (tone, none) = (Sine(1000, -20, 2), Silence(2));
        Assert.Null(Measure(Interleaved(none, none, none, tone, none, none), 6).LoudnessLufs);
        var front = Measure(Interleaved(tone, none, none, none, none, none), 6).LoudnessLufs!.Value;
        var beside = Measure(Interleaved(none, none, none, none, tone, none), 6).LoudnessLufs!.Value;
        Assert.Equal(10 * Math.Log10(1.41), beside - front, 6);
    }

    [Theory]
    [InlineData(44100, 17639, false)]
    [InlineData(44100, 17640, true)]
    [InlineData(48000, 19199, false)]
    [InlineData(48000, 19200, true)]
    [InlineData(11025, 4409, false)]
    [InlineData(11025, 4410, true)]
    public void Under_400_ms_there_is_no_loudness_but_an_RMS(int rate, int frames, bool hasLoudness)
    {
        var facts = Measure(Sine(1000, -20, (double)frames / rate, rate), 1, rate);
        Assert.Equal(frames, facts.Frames);
        Assert.Equal((hasLoudness, hasLoudness), (facts.LoudnessLufs is not null, facts.MomentaryMaxLufs is not null));
        // A sine's RMS is 3.01 dB under its peak.
        Assert.Equal(-23.01, facts.LoudestRmsDbfs!.Value, 0.02);
    }

    [Fact]
    public void What_passes_no_gate_has_no_loudness()
    {
        var facts = Measure(Sine(1000, -80, 2));
        Assert.Null(facts.LoudnessLufs);
        Assert.Equal(-83.0, facts.MomentaryMaxLufs!.Value, 0.1);
    }

    [Fact]
    public void A_rate_too_low_for_the_weighting_has_no_loudness_and_all_else()
    {
        var facts = Measure(Sine(200, -6, 2, 3000), 1, 3000);
        Assert.Null(facts.LoudnessLufs);
        Assert.Equal(-6.0, facts.TruePeakDbtp!.Value, 0.2);
    }
}
