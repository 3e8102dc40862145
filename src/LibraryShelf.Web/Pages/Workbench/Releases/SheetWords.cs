using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A sheet's recordings, layers and figures in words.</summary>
internal sealed class SheetWords
{
    private readonly int middleCOctave;
    private readonly bool hasWays, hasMicrophones, hasLifts, hasTakes;

    public SheetWords(SheetReading sheet)
    {
        var places = sheet.Recordings.Select(r => r.Place).OfType<RecordingPlace>().ToList();
        middleCOctave = sheet.Limits.MiddleCOctave;
        hasWays = places.Select(p => p.Articulation).Distinct(StringComparer.Ordinal).Skip(1).Any();
        hasMicrophones = places.Select(p => p.Microphone).Distinct(StringComparer.Ordinal).Skip(1).Any();
        hasLifts = places.Exists(p => p.IsLift);
        hasTakes = places.Exists(p => p.Take > 1);
    }

    public string Note(int key) => Notes.Name(key, middleCOctave);

    /// <summary>"A♯1, hardest, take 2", as far as it is known; else the file's name.</summary>
    public string Of(SheetRecording recording)
    {
        if (recording.Place is not { } place || KeyOf(place) is not { } key)
            return Path.GetFileName(recording.Path);
        string?[] parts =
        [
            Note(key),
            hasWays && place.Articulation.Length > 0 ? place.Articulation : null,
            hasLifts && place.IsLift ? T("lift") : null,
            place is { Layer: { } layer, Layers: > 1 and var layers } ? Layer(layer, layers) : null,
            hasTakes && place.Take is { } take ? T($"take {take}") : null,
            hasMicrophones && place.Microphone.Length > 0 ? place.Microphone : null,
        ];
        return string.Join(", ", parts.OfType<string>());
    }

    /// <summary>Layer 1 is the softest.</summary>
    public static string Layer(int layer, int layers) =>
        layer <= 1 ? T("softest")
        : layer >= layers ? T("hardest")
        : layers % 2 == 1 && layer == (layers + 1) / 2 ? T("middle")
        : T($"layer {layer}");

    /// <summary>The key under which a recording is shown: its note, or the nearest key that sounds it; null when neither is known.</summary>
    public static int? KeyOf(RecordingPlace? place) => place switch
    {
        { Note: { } note, LowKey: { } low, HighKey: { } high } when low <= high => Math.Clamp(note, low, high),
        { Note: { } note } => note,
        { LowKey: { } low } => low,
        _ => null,
    };

    /// <summary>A finding's code in two or three words: "clipped", "lead in long".</summary>
    public static string Short(string code) => code switch
    {
        FindingCodes.RecordingUndecodable => T("can’t be read"),
        FindingCodes.RecordingCutShort => T("cut short"),
        FindingCodes.RecordingEmpty => T("empty"),
        FindingCodes.RecordingNotFinite => T("not finite"),
        FindingCodes.RecordingSilent => T("silent"),
        FindingCodes.RecordingNotRead => T("not read"),
        FindingCodes.RecordingUnused => T("unused"),
        FindingCodes.PitchFar or FindingCodes.NoteDisagrees => T("another note?"),
        FindingCodes.LayersOutOfOrder => T("not louder"),
        FindingCodes.TakesUneven => T("take stands out"),
        FindingCodes.RecordingClippedHard or FindingCodes.RecordingClipped => T("clipped"),
        FindingCodes.TruePeakOver => T("true peak over"),
        FindingCodes.NoiseHigh => T("noisy"),
        FindingCodes.LeadInLong => T("starts late"),
        FindingCodes.LeadInShort => T("cut start"),
        FindingCodes.TailCut => T("cut end"),
        FindingCodes.DcOffset => T("dc offset"),
        FindingCodes.ChannelSilent => T("channel silent"),
        FindingCodes.ChannelsIdentical => T("channels identical"),
        FindingCodes.ChannelsInverted => T("channels inverted"),
        FindingCodes.ChannelsDiffer => T("channels differ"),
        FindingCodes.RatesDiffer => T("rates differ"),
        FindingCodes.BitsDiffer => T("bits differ"),
        FindingCodes.SameSound => T("same sound"),
        FindingCodes.LoopOutside => T("loop outside"),
        FindingCodes.NameUnportable => T("name unportable"),
        FindingCodes.NameCollision => T("name collision"),
        FindingCodes.NameDecomposed => T("name decomposed"),
        _ => code.Replace('-', ' '),
    };

    public static string Verdict(SheetVerdict verdict) => verdict switch
    {
        SheetVerdict.MustFix => T("Must fix"),
        SheetVerdict.ListenAgain => T("Listen again"),
        SheetVerdict.Excused => T("Excused"),
        _ => T("Fine"),
    };

    /// <summary>With a true minus; empty when it was not measured.</summary>
    public static string Figure(double? value, int decimals = 1) =>
        value is { } number && double.IsFinite(number)
            // Added zero: what rounds to −0 is 0.
            ? (Math.Round(number, decimals) + 0.0).ToString(decimals == 0 ? "0" : "0.0", Say.Culture).Replace('-', '−')
            : "";

    public static string Signed(double? value) => Figure(value) is { Length: > 0 } text ? value > 0 ? "+" + text : text : "";

    /// <summary>Cents of the plain estimate from the note the recording is said to be; null without a confident estimate, or for a kit.</summary>
    public static double? Cents(SheetRecording recording, bool isPitched) =>
        isPitched && recording is { Place: { Note: { } note, IsLift: false }, Facts.Pitch: { Confidence: >= LeastConfidence } pitch }
            ? (100 * (pitch.Note - note)) + pitch.Cents
            : null;

    /// <summary>Below it, a plain estimate is not shown. Common practice, no source.</summary>
    public const double LeastConfidence = 0.9;
}
