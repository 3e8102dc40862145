using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Measures;

/// <summary>
/// Times of sounds whose times are known because they were made so. That a plucked string is loud for about a second and then soft is common
/// practice of the trade, no source; so are the decay figures of the synthesised pluck here.
/// </summary>
public sealed class TimeTests
{
    [Theory]
    [InlineData(20)] // dB a second: −20 dB after 1 s, −60 dB after 3 s
    [InlineData(60)]
    [InlineData(200)]
    public void A_pluck_dies_away_as_it_was_made(double decibelsASecond)
    {
        double[] pluck = [.. Silence(0.1), .. Made(4, Rate, i => 0.7 * Math.Pow(10, -decibelsASecond * i / Rate / 20) * Math.Sin(2 * Math.PI * 220 * i / Rate))];
        var facts = Measure(pluck);
        Assert.Equal(100, facts.LeadInMs!.Value, 0.2); // the sine passes 1 % of its peak after 0.02 ms
        Assert.InRange(facts.AttackMs!.Value, 0, 11);
        Assert.Equal(20 / decibelsASecond * 1000, facts.Decay20Ms!.Value, 15.0);
        Assert.Equal(60 / decibelsASecond * 1000, facts.Decay60Ms!.Value, 15.0);
    }

    [Fact]
    public void What_does_not_die_away_before_the_end_has_no_decay()
    {
        var pluck = Made(2, Rate, i => 0.7 * Math.Pow(10, -20.0 * i / Rate / 20) * Math.Sin(2 * Math.PI * 220 * i / Rate));
        var facts = Measure(pluck);
        Assert.NotNull(facts.Decay20Ms);
        Assert.Null(facts.Decay60Ms);
        // 40 dB below 0.7 after two seconds, a sine's RMS is 3.01 dB less.
        Assert.Equal(20 * Math.Log10(0.7) - 40 - 3.01, facts.TailDbfs!.Value, 0.6);
    }

    [Fact]
    public void A_slow_sound_has_a_slow_attack_and_a_held_one_a_short_one()
    {
        var swelling = Made(2, Rate, i => Math.Min(1.0, i / (double)Rate) * 0.5 * Math.Sin(2 * Math.PI * 220 * i / Rate));
        // 1 dB under full is 0.891 of it, reached at 891 ms; the start at 1 % is within the first 10 ms.
        Assert.Equal(885, Measure(swelling).AttackMs!.Value, 15.0);
        Assert.InRange(Measure(Sine(220, -6, 30)).AttackMs!.Value, 0, 10);
    }

    [Fact]
    public void The_noise_floor_is_that_of_the_quiet_not_of_the_sound()
    {
        // Uniform noise of peak a has an RMS of a / √3.
        var noise = Noise(-66, 3, seed: 5);
        var sound = noise.Select((x, i) => x + (i is > 48000 and < 96000 ? 0.5 * Math.Sin(i * 0.05) : 0)).ToArray();
        Assert.Equal(-66 - 4.77, Measure(sound).NoiseFloorDbfs!.Value, 0.5);
        Assert.Null(Measure(Sine(220, -6, 2)).NoiseFloorDbfs);
        // Digital silence around is no floor: nothing was recorded there.
        double[] padded = [.. Silence(1), .. sound, .. Silence(1)];
        Assert.Equal(-66 - 4.77, Measure(padded).NoiseFloorDbfs!.Value, 0.5);
    }

    [Fact]
    public void The_loudest_RMS_is_of_50_ms()
    {
        double[] burst = [.. Silence(0.5), .. Sine(1000, -6, 0.05), .. Silence(0.5)];
        Assert.Equal(-9.01, Measure(burst).LoudestRmsDbfs!.Value, 0.05);
        Assert.Equal(-9.01, Measure(Sine(1000, -6, 0.02)).LoudestRmsDbfs!.Value, 0.05);
    }

    [Theory]
    [InlineData(8000)]
    [InlineData(44100)]
    [InlineData(96000)]
    [InlineData(192000)]
    public void Brightness_and_pitch_of_a_tone_are_its_frequency(int rate)
    {
        var facts = Measure(Sine(440, -6, 1, rate), 1, rate);
        Assert.Equal(440, facts.BrightnessHz!.Value, 2.0);
        Assert.Equal(440, facts.Pitch!.Hz, 0.3);
        Assert.Equal((69, true), (facts.Pitch.Note, facts.Pitch.Confidence > 0.99));
    }

    [Fact]
    public void White_noise_is_as_bright_as_half_its_band_and_has_no_pitch()
    {
        var facts = Measure(Noise(-6, 1, seed: 6));
        Assert.Equal(12000, facts.BrightnessHz!.Value, 300.0);
        Assert.Null(facts.Pitch);
    }

    [Theory]
    [InlineData(27.5, 21)]
    [InlineData(61.735, 35)]
    [InlineData(1046.502, 84)]
    [InlineData(4186.009, 108)]
    public void The_pitch_of_a_rich_tone_is_its_fundamental(double hz, int note)
    {
        // Partials down to half of the rate, each half as loud as the one before.
        var partials = (int)Math.Min(10, 22000 / hz);
        var facts = Measure(Made(1, Rate, i => 0.4 * Enumerable.Range(1, partials).Sum(n => Math.Pow(0.5, n) * Math.Sin(2 * Math.PI * hz * n * i / Rate))));
        Assert.Equal(note, facts.Pitch!.Note);
        Assert.InRange(facts.Pitch.Cents, -6, 6);
    }

    [Fact]
    public void The_outline_is_least_and_greatest_of_256_stretches()
    {
        var ramp = Made(2, Rate, i => i / (2.0 * Rate));
        var outline = Convert.FromBase64String(Measure(Interleaved(ramp, [.. ramp.Select(x => -x)]), 2).Outline);
        Assert.Equal(2 * RecordingFacts.OutlineColumns, outline.Length);
        for (var column = 0; column < RecordingFacts.OutlineColumns; column++)
        {
            Assert.InRange((sbyte)outline[2 * column + 1], 127 * (column + 1) / 256.0 - 1.5, 127 * (column + 1) / 256.0 + 1.5);
            Assert.Equal((sbyte)outline[2 * column + 1], -(sbyte)outline[2 * column]);
        }
    }
}
