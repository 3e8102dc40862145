using System.Globalization;
using System.Text.RegularExpressions;

namespace LibraryShelf.Audio.Tests.RealInput;

/// <summary>
/// ffmpeg's ebur128 with true peak as the peer, on every real recording of 400 ms or more: within 0.1 LU and 0.3 dB. ffmpeg prints one decimal.
/// </summary>
public sealed partial class FfmpegLoudnessTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-audio-").FullName;

    [Fact]
    public void On_a_real_piano() => Assert.Equal(30, Compare(RealRecordings.Piano));

    [Fact]
    public void On_hot_one_shots_and_loops() => Assert.InRange(Compare(RealRecordings.OneShots), 100, 165);

    /// <summary>How many were long enough.</summary>
    private int Compare(IReadOnlyList<string> sources)
    {
        var compared = 0;
        foreach (var source in sources)
        {
            var wav = Path.Combine(folder, "x.wav");
            // One process for both: the decode that is measured here, and what ffmpeg says of it.
            var said = RealRecordings.Run("ffmpeg", ["-nostdin", "-nostats", "-y", "-i", source, wav, "-af", "ebur128=peak=true", "-f", "null", "-"]);
            using var stream = File.OpenRead(wav);
            var facts = RecordingReader.Read(stream);
            if (facts.Frames < 0.4 * facts.SampleRate)
            {
                Assert.Null(facts.LoudnessLufs);
                continue;
            }
            var summary = said[said.LastIndexOf("Summary:", StringComparison.Ordinal)..];
            Assert.True(Math.Abs(Number(Integrated().Match(summary)) - facts.LoudnessLufs!.Value) <= 0.1, $"{source}: {facts.LoudnessLufs} LUFS, ffmpeg: {summary}");
            Assert.True(Math.Abs(Number(Peak().Match(summary)) - facts.TruePeakDbtp!.Value) <= 0.3, $"{source}: {facts.TruePeakDbtp} dBTP, ffmpeg: {summary}");
            compared++;
        }
        return compared;
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static double Number(Match match) => double.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"I:\s+(-?[\d.]+) LUFS", RegexOptions.None, 1000)]
    private static partial Regex Integrated();

    [GeneratedRegex(@"Peak:\s+(-?[\d.]+) dBFS", RegexOptions.None, 1000)]
    private static partial Regex Peak();
}
