using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Measures;

/// <summary>What is left out for speed never held the peak: the same as every phase at every place, worked out plainly.</summary>
public sealed class TruePeakTests
{
    /// <summary>ITU-R BS.1770-5 (November 2023), Annex 2: two of the four phases; the other two are these backwards.</summary>
    private static readonly double[][] Phases =
    [
        [0.0017089843750, 0.0109863281250, -0.0196533203125, 0.0332031250000, -0.0594482421875, 0.1373291015625,
            0.9721679687500, -0.1022949218750, 0.0476074218750, -0.0266113281250, 0.0148925781250, -0.0083007812500],
        [-0.0291748046875, 0.0292968750000, -0.0517578125000, 0.0891113281250, -0.1665039062500, 0.4650878906250,
            0.7797851562500, -0.2003173828125, 0.1015625000000, -0.0582275390625, 0.0330810546875, -0.0189208984375],
    ];

    public static TheoryData<int> Seeds => [.. Enumerable.Range(1, 30)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void It_is_that_of_the_whole_filter(int seed)
    {
        var random = new Random(seed);
        var rate = random.Next(5) switch { 0 => 300, 1 => 8000, 2 => 44100, 3 => 96000, _ => 48000 };
        var length = random.Next(1, 12000);
        var (turn, fall, loud) = (random.NextDouble() * Math.PI, random.NextDouble() * 10 / length, Math.Pow(10, -2 * random.NextDouble()));
        var samples = Enumerable.Range(0, length).Select(i => loud * (seed % 3) switch
        {
            0 => 2 * random.NextDouble() - 1,
            1 => Math.Sin(turn * i) * Math.Exp(-fall * i),
            _ => random.Next(200) == 0 ? 2 * random.NextDouble() - 1 : 0.2 * Math.Sin(turn * i),
        }).ToArray();
        Assert.Equal(20 * Math.Log10(Plain(samples)), Measure(samples, 1, rate).TruePeakDbtp!.Value, 1e-4);
    }

    [Fact]
    public void Each_channel_counts()
    {
        var (quiet, loud) = (Noise(-40, 1, seed: 7), Noise(-3, 1, seed: 8));
        var expected = 20 * Math.Log10(Plain(loud));
        Assert.Equal(expected, Measure(Interleaved(quiet, loud, quiet), 3).TruePeakDbtp!.Value, 1e-4);
        Assert.Equal(expected, Measure(Interleaved(loud, quiet), 2).TruePeakDbtp!.Value, 1e-4);
    }

    private static double Plain(double[] samples)
    {
        var greatest = samples.Max(Math.Abs);
        double At(int i) => i < 0 ? 0 : samples[i];
        for (var n = 0; n < samples.Length; n++)
            foreach (var phase in Phases)
            {
                double forwards = 0, backwards = 0;
                for (var tap = 0; tap < 12; tap++)
                    (forwards, backwards) = (forwards + phase[tap] * At(n - tap), backwards + phase[11 - tap] * At(n - tap));
                greatest = Math.Max(greatest, Math.Max(Math.Abs(forwards), Math.Abs(backwards)));
            }
        return greatest;
    }
}
