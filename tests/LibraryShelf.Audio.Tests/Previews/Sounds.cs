using System.Globalization;
using System.Text.RegularExpressions;
using LibraryShelf.Audio.Previews;
using LibraryShelf.Audio.Tests.RealInput;

namespace LibraryShelf.Audio.Tests.Previews;

/// <summary>Short sounds, and what ffmpeg says of a file made of one.</summary>
internal static partial class Sounds
{
    public static Sound Of(double[] interleaved, int channels = 1, int rate = Signals.Rate) =>
        new(Array.ConvertAll(interleaved, x => (float)x), channels, rate);

    /// <summary>Magnitudes of a sine fitted to a mono sound by least squares, and of all that is left of it, in dB relative to full scale.</summary>
    public static (double Sine, double Left) Split(Sound sound, double hz, int skip)
    {
        var samples = sound.Samples.ToArray()[skip..^skip];
        var sines = Enumerable.Range(skip, samples.Length).Select(i => Math.Sin(2 * Math.PI * hz * i / sound.SampleRate)).ToArray();
        var cosines = Enumerable.Range(skip, samples.Length).Select(i => Math.Cos(2 * Math.PI * hz * i / sound.SampleRate)).ToArray();
        var (ss, cc, sc) = (Dot(sines, i => sines[i]), Dot(cosines, i => cosines[i]), Dot(sines, i => cosines[i]));
        var (sx, cx) = (Dot(sines, i => samples[i]), Dot(cosines, i => samples[i]));
        var (a, b) = ((sx * cc - cx * sc) / (ss * cc - sc * sc), (cx * ss - sx * sc) / (ss * cc - sc * sc));
        var left = Enumerable.Range(0, samples.Length).Average(i => Math.Pow(samples[i] - a * sines[i] - b * cosines[i], 2));
        return (10 * Math.Log10(a * a + b * b), 10 * Math.Log10(2 * left));
    }

    private static double Dot(double[] left, Func<int, double> right) => Enumerable.Range(0, left.Length).Sum(i => left[i] * right(i));

    /// <summary>Integrated loudness, LUFS, and true peak, dBTP, of a file; ffmpeg prints one decimal.</summary>
    public static (double Loudness, double Peak) AskFfmpeg(string path)
    {
        var said = RealRecordings.Run("ffmpeg", ["-nostdin", "-nostats", "-i", path, "-af", "ebur128=peak=true", "-f", "null", "-"]);
        var summary = said[said.LastIndexOf("Summary:", StringComparison.Ordinal)..];
        return (Number(Integrated().Match(summary)), Number(Peak().Match(summary)));
    }

    private static double Number(Match match) => double.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"I:\s+(-?[\d.]+) LUFS", RegexOptions.None, 1000)]
    private static partial Regex Integrated();

    [GeneratedRegex(@"Peak:\s+(-?[\d.]+) dBFS", RegexOptions.None, 1000)]
    private static partial Regex Peak();
}
