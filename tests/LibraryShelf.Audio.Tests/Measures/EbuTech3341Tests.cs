using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Measures;

/// <summary>
/// EBU Tech 3341 version 4 (November 2023), Table 1: every signal that can be synthesised and whose quantity is offered. Cases 9 to 11 ask
/// for short-term loudness and Tech 3342 for loudness range, which are not offered; 7 and 8 are recordings of programmes.
/// Levels are of the sine's peak, 1 kHz, 48 kHz.
/// </summary>
public sealed class EbuTech3341Tests
{
    [Theory]
    [InlineData(1, -23.0)]
    [InlineData(2, -33.0)]
    public void A_steady_tone_in_both_channels(int number, double expected)
    {
        var facts = Measure(InAll(2, Sine(1000, number == 1 ? -23 : -33, 20)), 2);
        Assert.Equal(expected, facts.LoudnessLufs!.Value, 0.1);
        Assert.Equal(expected, facts.MomentaryMaxLufs!.Value, 0.1);
    }

    [Theory]
    [InlineData(3, new double[] { 10, -36, 60, -23, 10, -36 })]
    [InlineData(4, new double[] { 10, -72, 10, -36, 60, -23, 10, -36, 10, -72 })]
    [InlineData(5, new double[] { 20, -26, 20.1, -20, 20, -26 })]
    public void Gates_leave_out_what_is_quiet(int number, double[] secondsAndLevels)
    {
        var signal = secondsAndLevels.Chunk(2).SelectMany(part => Sine(1000, part[1], part[0])).ToArray();
        Assert.True(Math.Abs(-23.0 - Measure(InAll(2, signal), 2).LoudnessLufs!.Value) <= 0.1, $"case {number}");
    }

    [Fact]
    public void Case_6_five_channels()
    {
        double[] Tone(double level) => Sine(1000, level, 20);
        var facts = Measure(Interleaved(Tone(-28), Tone(-28), Tone(-24), Tone(-30), Tone(-30)), 5);
        Assert.Equal(-23.0, facts.LoudnessLufs!.Value, 0.1);
    }

    /// <summary>"Constant after 1 s": so is the greatest after it. The first second's greatest is no more than the tone's own steps.</summary>
    [Fact]
    public void Case_12_momentary_is_constant_over_a_period_of_400_ms()
    {
        var signal = Enumerable.Range(0, 25).SelectMany(_ => Sine(1000, -20, 0.18).Concat(Sine(1000, -30, 0.22))).ToArray();
        Assert.Equal(-23.0, Measure(InAll(2, signal), 2).MomentaryMaxLufs!.Value, 0.1);
    }

    [Fact]
    public void Case_13_momentary_catches_400_ms_wherever_they_lie()
    {
        for (var i = 0; i < 20; i++)
        {
            double[] signal = [.. Silence(0.02 * i), .. Sine(1000, -23, 0.4), .. Silence(1)];
            Assert.Equal(-23.0, Measure(InAll(2, signal), 2).MomentaryMaxLufs!.Value, 0.1);
        }
    }

    /// <summary>The document plays the twenty parts as one programme; the greatest of each is what a fresh meter finds in it.</summary>
    [Fact]
    public void Case_14_momentary_follows_each_level()
    {
        for (var i = 0; i < 20; i++)
        {
            double[] signal = [.. Silence(0.02 * i), .. Sine(1000, -38 + i, 0.4), .. Silence(0.4 - 0.02 * i)];
            Assert.Equal(-38.0 + i, Measure(InAll(2, signal), 2).MomentaryMaxLufs!.Value, 0.1);
        }
    }

    [Theory]
    [InlineData(15, 4, 0.50, 0, -6.0)]
    [InlineData(16, 4, 0.50, 45, -6.0)]
    [InlineData(17, 6, 0.50, 60, -6.0)]
    [InlineData(18, 8, 0.50, 67.5, -6.0)]
    [InlineData(19, 4, 1.41, 45, 3.0)]
    public void True_peak_of_a_tone_that_samples_miss(int number, int parts, double fullScale, double phase, double expected)
    {
        var tone = Sine((double)Rate / parts, 20 * Math.Log10(fullScale), 1, phaseDegrees: phase);
        var fade = Rate / 100; // 10 ms
        for (var i = 0; i < fade; i++)
        {
            tone[i] *= (double)i / fade;
            tone[^(i + 1)] *= (double)i / fade;
        }
        AssertWithin(expected, Measure(tone).TruePeakDbtp!.Value, number);
    }

    [Theory]
    [InlineData(20, 0)]
    [InlineData(21, 1)]
    [InlineData(22, 2)]
    [InlineData(23, 3)]
    public void True_peak_of_one_period_put_into_a_quieter_tone(int number, int offset)
    {
        // Made at four times the rate: fs/6 at half scale, one period of fs/4 at full scale where the tone crosses zero.
        var high = Enumerable.Range(0, 4 * Rate / 10).Select(n => 0.5 * Math.Sin(2 * Math.PI * n / 24)).ToList();
        high.InsertRange(24 * 400, Enumerable.Range(0, 16).Select(n => Math.Sin(2 * Math.PI * n / 16)));
        AssertWithin(0, Measure(DecimatedByFour(high, offset)).TruePeakDbtp!.Value, number);
    }

    private static void AssertWithin(double expected, double measured, int number) =>
        Assert.True(measured <= expected + 0.2 && measured >= expected - 0.4, $"case {number}: {measured:0.000} dBTP, expected {expected:0.0} +0.2/−0.4");

    /// <summary>Low-passed to the lower rate's half (a Hann-windowed sinc of 513 taps, cut at 0.45 of the rate), then each fourth sample.</summary>
    private static double[] DecimatedByFour(List<double> high, int offset)
    {
        const int reach = 256;
        const double cut = 0.45 / 4;
        var taps = Enumerable.Range(-reach, 2 * reach + 1)
            .Select(n => (n == 0 ? 2 * cut : Math.Sin(2 * Math.PI * cut * n) / (Math.PI * n)) * (0.5 + 0.5 * Math.Cos(Math.PI * n / (reach + 1)))).ToArray();
        var low = new List<double>();
        for (var at = reach + offset; at + reach < high.Count; at += 4)
            low.Add(taps.Select((tap, i) => tap * high[at + i - reach]).Sum());
        return [.. low];
    }
}
