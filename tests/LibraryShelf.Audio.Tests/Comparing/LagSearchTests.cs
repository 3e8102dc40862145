using LibraryShelf.Audio.Comparing;
using LibraryShelf.Audio.Files;
using LibraryShelf.Audio.Tests.RealInput;

namespace LibraryShelf.Audio.Tests.Comparing;

/// <summary>
/// The first look at what is low in two recordings may be unsure, but never wrong: wherever the search in all samples finds something, it must not have said
/// that there is no hope.
/// </summary>
public sealed class LagSearchTests : IDisposable
{
    private const int Rate = 44100;
    private readonly string folder = Directory.CreateTempSubdirectory("lags").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static double[] Noise(int seed, double seconds)
    {
        var random = new Random(seed);
        return Signals.Made(seconds, Rate, i => 0.6 * Math.Exp(-0.6 * i / Rate) * (2 * random.NextDouble() - 1));
    }

    private static Opening OpeningOf(double[] samples, int bits, Random dither)
    {
        var scale = Math.Pow(2, bits - 1);
        var wav = WavFile.Whole(samples.Select(x => (long)Math.Clamp(Math.Round(x * scale + dither.NextDouble() - dither.NextDouble()), -scale, scale - 1)), bits, 1, Rate);
        using var source = new Source(() => new MemoryStream(wav));
        return Opening.Read(source.Open()!, null, default);
    }

    private static bool IsFound(Opening old, Opening next)
    {
        var (inOld, inNext) = LagSearch.FindEach(old, next);
        return inOld.Count + inNext.Count > 0;
    }

    /// <summary>Cut at both ends, up to 30 dB quieter, faded at both.</summary>
    private static double[] Edited(double[] sound, Random random)
    {
        var kept = sound[(int)(random.NextDouble() * 0.4 * sound.Length)..^(int)(random.NextDouble() * 0.4 * sound.Length)];
        var (fadeIn, fadeOut) = (1 + (int)(random.NextDouble() * 0.1 * kept.Length), 1 + (int)(random.NextDouble() * 0.5 * kept.Length));
        var gain = Math.Pow(10, -1.5 * random.NextDouble());
        return [.. kept.Select((x, i) => x * gain * Math.Min(1, (i + 1.0) / fadeIn) * Math.Min(1, (double)(kept.Length - i) / fadeOut))];
    }

    private IEnumerable<double[]> RealSounds()
    {
        foreach (var file in RealRecordings.OneShots.Where((_, i) => i % 5 == 0).Concat(RealRecordings.Piano.Where((_, i) => i % 3 == 0)))
        {
            var wav = Path.Combine(folder, "one.wav");
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", file, "-t", "7", "-ac", "1", "-ar", $"{Rate}", "-c:a", "pcm_f32le", wav]);
            using var stream = File.OpenRead(wav);
            var (reading, block, all) = (new FrameReading(SoundFiles.Open(stream)!), new double[4096], new List<double>());
            while (reading.Read(block) is > 0 and var count)
                all.AddRange(block.AsSpan(0, count));
            yield return [.. all];
        }
    }

    [Fact]
    public void What_is_found_was_never_hopeless()
    {
        var (random, found, different, hopeless) = (new Random(20261126), 0, 0, 0);
        Opening? other = null;
        foreach (var sound in RealSounds().Concat(Enumerable.Range(0, 12).Select(seed => Noise(seed, 1.5 + seed / 3.0))))
        {
            var old = OpeningOf(sound, 24, random);
            for (var edit = 0; edit < 2; edit++)
            {
                var next = OpeningOf(Edited(sound, random), 16, random);
                if (!IsFound(old, next))
                    continue;
                found++;
                Assert.False(LagSearch.IsHopeless(old, next), $"edit {edit} of a recording of {sound.Length} frames, the {found}th found");
            }
            if (other is not null)
            {
                different++;
                if (LagSearch.IsHopeless(other, old))
                {
                    hopeless++;
                    Assert.False(IsFound(other, old));
                }
            }
            other = old;
        }
        // Else this says little. Of twice as many sounds of each kind 264 edits were found, none of them hopeless, and 107 of 142 others were.
        Assert.InRange(found, 60, int.MaxValue);
        Assert.InRange(hopeless, different / 3, different);
    }

    [Fact]
    public void Takes_of_a_noise_are_hopeless_and_what_is_short_silent_or_high_is_left_to_all_samples()
    {
        var random = new Random(8);
        Assert.True(LagSearch.IsHopeless(OpeningOf(Noise(1, 4), 24, random), OpeningOf(Noise(2, 3), 24, random)));
        Assert.False(LagSearch.IsHopeless(OpeningOf(Noise(1, 0.01), 24, random), OpeningOf(Noise(2, 4), 24, random)));
        Assert.False(LagSearch.IsHopeless(OpeningOf([], 24, random), OpeningOf(Noise(2, 4), 24, random)));
        double[] High(double hz) => Signals.Made(2, Rate, i => 0.5 * Math.Sin(2 * Math.PI * hz * i / Rate));
        Assert.False(LagSearch.IsHopeless(OpeningOf(High(9_000), 24, random), OpeningOf(High(11_000), 24, random)));
    }

    /// <summary>A sine well below a half of the lower rate comes through as it is; one well above is gone.</summary>
    [Fact]
    public void The_low_band_keeps_what_is_low()
    {
        float[] Sine(double cycles) => [.. Enumerable.Range(0, 8_192).Select(i => (float)Math.Sin(2 * Math.PI * cycles * i))];
        double Rms(float[] low) => Math.Sqrt(low[20..^20].Average(x => (double)x * x));
        Assert.InRange(Rms(LowBand.Of(Sine(0.003))), 0.70, 0.715);
        Assert.InRange(Rms(LowBand.Of(Sine(0.12))), 0, 0.007);
        Assert.Equal(3, LowBand.Of(new float[17]).Length);
    }
}
