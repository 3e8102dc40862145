namespace LibraryShelf.Audio.Tests.RealInput;

/// <summary>Sounds made hot on purpose: the set that must raise warnings. Sox's `stats` is the peer for peak, DC and RMS of the quiet.</summary>
public sealed class OneShotTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-audio-").FullName;

    [Fact]
    public void Trouble_is_there_and_is_seen()
    {
        var facts = RealRecordings.OneShots.Select(f => RealRecordings.Measure(f, Path.Combine(folder, "x.wav"))).ToList();
        Assert.All(facts, f => Assert.True(f is { IsWhole: true, Silent: false, LoudestRmsDbfs: not null, LeadInMs: not null, BrightnessHz: > 20 }));
        // Counted once with this code (2026-11-25), lower bounds: 7 clipped, 51 with more than 0.1 % DC, 57 over 0 dBTP.
        Assert.True(facts.Count(f => f.ClippedRuns > 0) >= 5);
        Assert.True(facts.Count(f => f.DcOffset.Any(dc => Math.Abs(dc) > 0.001)) >= 40);
        Assert.True(facts.Count(f => f.TruePeakDbtp > 0) >= 45);
    }

    /// <summary>sox prints six decimals of DC and two of decibels.</summary>
    [Theory]
    [InlineData("tabla_ghe1")]
    [InlineData("drum_bass_hard")]
    [InlineData("loop_safari")]
    public void Peak_and_DC_are_those_of_sox(string name)
    {
        var wav = Path.Combine(folder, "x.wav");
        var facts = RealRecordings.Measure(RealRecordings.OneShots.Single(f => Path.GetFileNameWithoutExtension(f) == name), wav);
        var lines = RealRecordings.Run("sox", [wav, "-n", "stats"]).Split('\n');
        double[] Of(string label) => [.. lines.Single(l => l.StartsWith(label, StringComparison.Ordinal))[label.Length..]
            .Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(n => double.Parse(n, System.Globalization.CultureInfo.InvariantCulture))];

        // Of stereo, sox prints the whole, then left and right.
        var dc = Of("DC offset");
        Assert.Equal(dc[^facts.Channels..], facts.DcOffset, (a, b) => Math.Abs(a - b) <= 1e-6);
        Assert.Equal(Of("Pk lev dB")[0], facts.SamplePeakDbfs!.Value, 0.01);
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);
}
