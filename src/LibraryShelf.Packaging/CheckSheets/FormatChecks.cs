using System.Globalization;
using LibraryShelf.Audio;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Do the recordings of one library agree in rate, bits and channels? Players cope, but a mixture is mostly an accident.</summary>
internal static class FormatChecks
{
    public static void Judge(IReadOnlyDictionary<string, RecordingFacts> recordings, Findings findings)
    {
        var read = recordings.Where(r => r.Value.Frames > 0).OrderBy(r => r.Key, StringComparer.Ordinal).ToList();
        Compare(read, FindingCodes.RatesDiffer, (most, rest) => T($"Sample rates differ: {most}; {rest}. Export the odd ones like the others, if it was not meant."),
            f => string.Create(CultureInfo.InvariantCulture, $"{f.SampleRate} Hz"), findings);
        Compare(read, FindingCodes.BitsDiffer, (most, rest) => T($"Bit depths differ: {most}; {rest}. Export the odd ones like the others, if it was not meant."),
            f => f.Coding == "float" ? T($"{f.Bits} bits float") : T($"{f.Bits} bits"), findings);
        Compare(read, FindingCodes.ChannelsDiffer, (most, rest) => T($"Channel counts differ: {most}; {rest}. Export the odd ones like the others, if it was not meant."),
            f => f.Channels switch { 1 => T("mono"), 2 => T("stereo"), _ => Words.Count(f.Channels, "channel", "channels") }, findings);
    }

    private static void Compare(
        List<KeyValuePair<string, RecordingFacts>> recordings, string code, Func<string, string, string> sentence, Func<RecordingFacts, string> valueOf, Findings findings)
    {
        var groups = recordings.GroupBy(r => valueOf(r.Value), StringComparer.Ordinal)
            .OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).ToList();
        if (groups.Count < 2)
            return;
        var most = T($"{groups[0].Key} in {Words.Recordings(groups[0].Count())}");
        var rest = groups.Skip(1).Select(g => T($"{g.Key} in {Words.Recordings(g.Count())} ({Words.Some([.. g.Select(r => r.Key)], 3)})"));
        findings.Add(code, null, sentence(most, string.Join("; ", rest)));
    }
}
