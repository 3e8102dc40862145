using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A column of figures in the sheet's table; <paramref name="Codes"/> are the findings that name its figure.</summary>
internal sealed record SheetColumn(string Name, string Words, Func<SheetRecording, double?> Get, int Decimals, IReadOnlyList<string> Codes)
{
    public const string Cents = "cents";

    public static IReadOnlyList<SheetColumn> Of(bool isPitched)
    {
        List<SheetColumn> columns =
        [
            new("peak", T("Peak, dB"), r => r.Facts?.SamplePeakDbfs, 1, [FindingCodes.RecordingClipped, FindingCodes.RecordingClippedHard, FindingCodes.RecordingSilent]),
            new("true-peak", T("True peak, dB"), r => r.Facts?.TruePeakDbtp, 1, [FindingCodes.TruePeakOver]),
            new("loudness", T("Loudness, LUFS"), r => r.Facts?.MomentaryMaxLufs, 1, [FindingCodes.LayersOutOfOrder, FindingCodes.TakesUneven]),
            new("noise", T("Noise floor, dB"), r => r.Facts?.NoiseFloorDbfs, 0, [FindingCodes.NoiseHigh]),
            new("lead-in", T("Lead-in, ms"), r => r.Facts?.LeadInMs, 0, [FindingCodes.LeadInLong, FindingCodes.LeadInShort]),
        ];
        if (isPitched)
            columns.Insert(0, new(Cents, T("Pitch, cents (estimate)"), r => SheetWords.Cents(r, isPitched), 0, [FindingCodes.PitchFar, FindingCodes.NoteDisagrees]));
        return columns;
    }

    public string Figure(SheetRecording recording) =>
        Name == Cents && Get(recording) is > 0 and { } sharp ? "+" + SheetWords.Figure(sharp, Decimals) : SheetWords.Figure(Get(recording), Decimals);

    /// <summary>A finding that still stands says that this figure will not do.</summary>
    public bool Fails(SheetRecording recording) => recording.Findings.Any(f => f.ExcuseReason is null && Codes.Contains(f.Code));

    /// <summary>"−24.0 to −1.0" over some recordings; empty when none was measured.</summary>
    public string Range(IReadOnlyList<SheetRecording> recordings)
    {
        var measured = recordings.Where(r => Get(r) is not null).OrderBy(Get).ToList();
        if (measured.Count == 0)
            return "";
        var (low, high) = (Figure(measured[0]), Figure(measured[^1]));
        return low == high ? low : T($"{low} to {high}");
    }
}
