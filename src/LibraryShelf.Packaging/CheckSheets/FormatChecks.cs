using System.Globalization;
using LibraryShelf.Audio;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Do the recordings of one library agree in rate, bits and channels? Players cope, but a mixture is mostly an accident.</summary>
internal static class FormatChecks
{
    public static void Judge(IReadOnlyDictionary<string, RecordingFacts> recordings, Findings findings)
    {
        var read = recordings.Where(r => r.Value.Frames > 0).OrderBy(r => r.Key, StringComparer.Ordinal).ToList();
        Compare(read, FindingCodes.RatesDiffer, T("Sample rates"), f => string.Create(CultureInfo.InvariantCulture, $"{f.SampleRate} Hz"), findings);
        Compare(read, FindingCodes.BitsDiffer, T("Bit depths"), f => string.Create(CultureInfo.InvariantCulture, $"{f.Bits} bits{(f.Coding == "float" ? T(" float") : "")}"), findings);
        Compare(read, FindingCodes.ChannelsDiffer, T("Channel counts"), f => f.Channels switch { 1 => "mono", 2 => "stereo", _ => Words.Count(f.Channels, "channel", "channels") }, findings);
    }

    private static void Compare(
        List<KeyValuePair<string, RecordingFacts>> recordings, string code, string what, Func<RecordingFacts, string> valueOf, Findings findings)
    {
        var groups = recordings.GroupBy(r => valueOf(r.Value), StringComparer.Ordinal)
            .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).ToList();
        if (groups.Count < 2)
            return;
        var most = $"{groups[0].Key} in {Words.Recordings(groups[0].Count())}";
        var rest = groups.Skip(1).Select(g => $"{g.Key} in {Words.Recordings(g.Count())} ({Words.Some([.. g.Select(r => r.Key)], 3)})");
        findings.Add(code, null, T($"{what} differ: {most}; {string.Join("; ", rest)}. Export the odd ones like the others, if it was not meant."));
    }
}
