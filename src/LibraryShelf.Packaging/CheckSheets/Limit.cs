namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// One of <see cref="LibraryLimits"/> as people set it: its name in files, its label, its unit ("" for a count), its bounds, and a sentence
/// that says what it does. Whole limits take whole numbers only.
/// </summary>
public sealed record Limit(
    string Name, string Label, string Unit, double Least, double Most, string Sentence, Func<LibraryLimits, double> Get,
    Func<LibraryLimits, double, LibraryLimits> With, bool IsWhole = false)
{
    /// <summary>Every limit, in the order in which pages show them.</summary>
    public static IReadOnlyList<Limit> All { get; } =
    [
        new("middleCOctave", T("Middle C is C"), "", 3, 4, T("The octave number of middle C (MIDI note 60) in file names and on these pages: 3 or 4."),
            l => l.MiddleCOctave, (l, v) => l with { MiddleCOctave = (int)v }, IsWhole: true),
        new("highestTruePeakDbtp", T("Highest true peak"), "dBTP", -20, 20, T("Above it, a player’s output clips between the samples."),
            l => l.HighestTruePeakDbtp, (l, v) => l with { HighestTruePeakDbtp = v }),
        new("clippedPlacesMustFix", T("Clipped places that must be mended"), "", 1, 100_000, T("Fewer are for your ears to judge; from this many on they hold up sealing."),
            l => l.ClippedPlacesMustFix, (l, v) => l with { ClippedPlacesMustFix = (int)v }, IsWhole: true),
        new("largestDcOffset", T("Largest DC offset"), T("of full scale"), 0, 1, T("More of it makes a click where the recording starts and ends."),
            l => l.LargestDcOffset, (l, v) => l with { LargestDcOffset = v }),
        new("highestNoiseFloorDbfs", T("Highest noise floor"), "dBFS", -140, 0, T("Noise adds up with every note that sounds at once."),
            l => l.HighestNoiseFloorDbfs, (l, v) => l with { HighestNoiseFloorDbfs = v }),
        new("shortestLeadInMs", T("Shortest lead-in"), "ms", 0, 10_000, T("A recording that begins later than its sound has lost its attack."),
            l => l.ShortestLeadInMs, (l, v) => l with { ShortestLeadInMs = v }),
        new("longestLeadInMs", T("Longest lead-in"), "ms", 0, 10_000, T("A later start feels like a late key."),
            l => l.LongestLeadInMs, (l, v) => l with { LongestLeadInMs = v }),
        new("tailBelowLoudestDb", T("Tail below the loudest, at least"), "dB", 0, 140, T("A louder tail ends with a cut that can be heard. Not asked of loops."),
            l => l.TailBelowLoudestDb, (l, v) => l with { TailBelowLoudestDb = v }),
        new("layerStepDb", T("Louder than the layer below by"), "dB", -60, 60, T("Below 0 a layer may be softer: for recordings made equally loud on purpose."),
            l => l.LayerStepDb, (l, v) => l with { LayerStepDb = v }),
        new("takeSpreadDb", T("Takes alike to within"), "dB", 0, 60, T("A take further from the middle of its siblings stands out when takes go round."),
            l => l.TakeSpreadDb, (l, v) => l with { TakeSpreadDb = v }),
    ];

    /// <summary>Null when <paramref name="value"/> will do, else what is wrong with it, as a sentence.</summary>
    public string? WhyRefused(double value) =>
        !double.IsFinite(value) || value < Least || value > Most || (IsWhole && Math.Floor(value) != value)
            ? T($"{Label}: it has to be {(IsWhole ? T("a whole number") : T("a number"))} from {Signed(Least)} to {Signed(Most)}{(Unit.Length > 0 ? " " + Unit : "")}.")
            : null;

    private static string Signed(double bound) => bound.ToString(Say.Culture).Replace('-', '−');
}
