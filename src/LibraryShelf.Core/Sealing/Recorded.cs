using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Core.Sealing;

/// <summary>How a version was recorded, all its recordings together; each list holds what occurs, once, in order.</summary>
/// <param name="Rates">Frames per second.</param>
/// <param name="Bits">Of whole numbers, per sample.</param>
/// <param name="FloatBits">Of floating point, per sample.</param>
/// <param name="Channels">Per frame.</param>
/// <param name="Microphones">By name, as the mapping or the folders say; empty where there is one unnamed.</param>
/// <param name="Seconds">All recordings one after the other.</param>
public sealed record Recorded(
    IReadOnlyList<int> Rates, IReadOnlyList<int> Bits, IReadOnlyList<int> FloatBits, IReadOnlyList<int> Channels, IReadOnlyList<string> Microphones, double Seconds)
{
    /// <returns>Null when no recording was measured.</returns>
    internal static Recorded? Of(IReadOnlyList<RecordingFacts> recordings, IEnumerable<RecordingPlace> places)
    {
        var read = recordings.Where(r => r.SampleRate > 0).ToList();
        if (read.Count == 0)
            return null;
        return new Recorded(
            All(read.Select(r => r.SampleRate)), All(read.Where(r => r.Coding != "float").Select(r => r.Bits)), All(read.Where(r => r.Coding == "float").Select(r => r.Bits)),
            All(read.Select(r => r.Channels)), [.. places.Select(p => p.Microphone).Where(m => m.Length > 0).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)],
            read.Sum(r => (double)r.Frames / r.SampleRate));
    }

    private static List<int> All(IEnumerable<int> values) => [.. values.Distinct().Order()];
}
