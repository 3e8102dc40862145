using System.Globalization;
using LibraryShelf.Audio;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Check;

/// <summary>
/// The check for people: what was counted, what is to be said of the library, then every recording, worst first, with its figures and, under it,
/// what is to be said of it. Levels in dB, lead-in in ms; a dash where nothing could be measured.
/// </summary>
internal sealed class CheckTable(ShelfConsole console, Verdict verdict, NoteNaming naming)
{
    private const int WidestPath = 40, VerdictWidth = 12;
    private readonly int pathWidth = Math.Min(WidestPath, Math.Max("Recording".Length, verdict.Recordings.Select(r => r.Path.Length).DefaultIfEmpty().Max()));
    private readonly Dictionary<string, RecordingPlace> places = verdict.Sheet.Places.ToDictionary(p => p.Path, StringComparer.Ordinal);

    public void Print()
    {
        var count = verdict.Sheet.Count;
        console.Say($"{Plural(count.Recordings, "recording")}, {Plural(count.Keys, "key")}{RangeOf(count)}, {Plural(count.Layers, "layer")}, {Plural(count.Takes, "take")}");
        if (count.Articulations.Count > 0)
            console.Say($"ways of playing: {string.Join(", ", count.Articulations)}");
        var recordings = verdict.Recordings.Select(r => r.Path).ToHashSet(StringComparer.Ordinal);
        var ofRecordings = verdict.Sheet.Findings.Where(f => f.Path is not null && recordings.Contains(f.Path)).ToLookup(f => f.Path!, StringComparer.Ordinal);
        PrintLibrary(verdict.Sheet.Findings.Where(f => f.Path is null || !recordings.Contains(f.Path)).ToList());
        if (verdict.Recordings.Count > 0)
            PrintRecordings(ofRecordings);
        console.Say("");
        console.Say($"{verdict.MustFix} must fix, {verdict.ListenAgain} listen again, {Plural(verdict.Fine, "recording")} fine");
    }

    private void PrintLibrary(List<Finding> findings)
    {
        if (findings.Count > 0)
            console.Say("");
        foreach (var finding in findings)
            console.Say($"{WordsOf(finding.Severity),-VerdictWidth}  {finding.Path ?? "the library"}: {finding.Message} [{finding.Code}]");
    }

    private void PrintRecordings(ILookup<string, Finding> findings)
    {
        console.Say("");
        console.Say(Row("Verdict", "Recording", "Note", "Layer", "Take", "Peak", "True pk", "LUFS", "Noise", "Lead-in"));
        foreach (var recording in verdict.Recordings.OrderBy(r => WorstOf(findings[r.Path])).ThenBy(r => r.Path, StringComparer.Ordinal))
        {
            console.Say(Row(WordsOf(WorstOf(findings[recording.Path])), places.GetValueOrDefault(recording.Path), recording));
            foreach (var finding in findings[recording.Path])
                console.Say($"{"",VerdictWidth}  {finding.Message} [{finding.Code}]");
        }
    }

    private string Row(string words, RecordingPlace? place, MeasuredRecording recording)
    {
        var facts = recording.Facts;
        return Row(words, recording.Path,
            place?.Note is { } note ? naming.Name(note) : "-",
            place is { Layer: { } layer, Layers: { } layers } ? $"{layer}/{layers}" : "-",
            place?.Take is { } take ? $"{take}" : "-",
            Number(facts.SamplePeakDbfs), Number(facts.TruePeakDbtp), Number(facts.LoudnessLufs), Number(facts.NoiseFloorDbfs), Number(facts.LeadInMs));
    }

    private string Row(string words, string path, string note, string layer, string take, string peak, string truePeak, string loudness, string noise, string leadIn) =>
        $"{words,-VerdictWidth}  {Shortened(path).PadRight(pathWidth)}  {note,-4}  {layer,5}  {take,4}  {peak,6}  {truePeak,7}  {loudness,6}  {noise,6}  {leadIn,7}";

    /// <summary>The end of a long path tells recordings apart.</summary>
    private string Shortened(string path) => path.Length <= pathWidth ? path : "…" + path[^(pathWidth - 1)..];

    private static string Number(double? value) => value is { } number ? (Math.Round(number, 1) + 0.0).ToString("0.0", CultureInfo.InvariantCulture) : "-";

    private static Severity WorstOf(IEnumerable<Finding> findings) => findings.Select(f => f.Severity).DefaultIfEmpty(Severity.Fine).Min();

    private string RangeOf(LibraryCount count) =>
        count is { LowestKey: { } low, HighestKey: { } high } ? $" ({naming.Name(low)} to {naming.Name(high)})" : "";

    private static string WordsOf(Severity severity) => severity switch
    {
        Severity.MustFix => "must fix",
        Severity.ListenAgain => "listen again",
        _ => "fine",
    };

    private static string Plural(int count, string word) => count == 1 ? $"1 {word}" : $"{count} {word}s";
}
