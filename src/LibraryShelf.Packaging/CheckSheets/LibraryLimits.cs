namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// What a maker expects of the recordings of one library: the limits beyond which the check speaks. The defaults are argued, and their
/// sources named, in docs/checks.md. <see cref="Limit.All"/> names each with its unit and bounds; <see cref="LimitsText"/> reads and writes them.
/// </summary>
public sealed record LibraryLimits
{
    public static readonly LibraryLimits Default = new();

    /// <summary>The octave number that middle C (MIDI note 60) has in this library's file names and pages: 4 or 3.</summary>
    public int MiddleCOctave { get; init; } = 4;

    /// <summary>Highest true peak, dBTP.</summary>
    public double HighestTruePeakDbtp { get; init; }

    /// <summary>From so many clipped places on, a recording must be mended rather than listened to.</summary>
    public int ClippedPlacesMustFix { get; init; } = 10;

    /// <summary>Largest DC offset of any channel, as a share of full scale.</summary>
    public double LargestDcOffset { get; init; } = 0.01;

    /// <summary>Highest noise floor, dBFS.</summary>
    public double HighestNoiseFloorDbfs { get; init; } = -55;

    /// <summary>Shortest and longest lead-in, ms.</summary>
    public double ShortestLeadInMs { get; init; }

    public double LongestLeadInMs { get; init; } = 20;

    /// <summary>How far the level at the cut tail must lie below the loudest 50 ms, dB.</summary>
    public double TailBelowLoudestDb { get; init; } = 40;

    /// <summary>How much louder a layer must be than the one below, dB; negative allows it to be softer.</summary>
    public double LayerStepDb { get; init; }

    /// <summary>How far a take's loudness may lie from the middle of its siblings, dB.</summary>
    public double TakeSpreadDb { get; init; } = 3;

    /// <summary>The note names of this library.</summary>
    internal Folders.NoteNaming Naming => new(MiddleCOctave);
}
