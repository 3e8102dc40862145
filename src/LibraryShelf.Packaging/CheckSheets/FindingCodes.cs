namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Every code of the first check with its severity, worst first; docs/checks.md says when and why. Codes are stable: scripts and
/// excuses hold on to them.
/// </summary>
public static class FindingCodes
{
    public const string FolderEmpty = "folder-empty";
    public const string NameUnportable = "name-unportable";
    public const string NameCollision = "name-collision";
    public const string RecordingUndecodable = "recording-undecodable";
    public const string RecordingCutShort = "recording-cut-short";
    public const string RecordingEmpty = "recording-empty";
    public const string RecordingNotFinite = "recording-not-finite";
    public const string RecordingSilent = "recording-silent";
    public const string MappingUnreadable = "mapping-unreadable";
    public const string MappingLeavesFolder = "mapping-leaves-folder";
    public const string MappingMissingFile = "mapping-missing-file";
    public const string MappingOtherSpelling = "mapping-other-spelling";

    public const string RecordingClippedHard = "recording-clipped-hard";

    public const string RecordingClipped = "recording-clipped";
    public const string TruePeakOver = "true-peak-over";
    public const string LayersOutOfOrder = "layers-out-of-order";
    public const string TakesUneven = "takes-uneven";
    public const string PitchFar = "pitch-far";
    public const string NoiseHigh = "noise-high";
    public const string TailCut = "tail-cut";
    public const string LeadInLong = "lead-in-long";
    public const string LeadInShort = "lead-in-short";
    public const string DcOffset = "dc-offset";
    public const string ChannelSilent = "channel-silent";
    public const string ChannelsIdentical = "channels-identical";
    public const string ChannelsInverted = "channels-inverted";
    public const string SameSound = "same-sound";
    public const string NamesOctaveOff = "names-octave-off";
    public const string VelocitiesMissing = "velocities-missing";
    public const string RangesOverlap = "ranges-overlap";
    public const string RecordingNotRead = "recording-not-read";
    public const string RatesDiffer = "rates-differ";
    public const string BitsDiffer = "bits-differ";
    public const string ChannelsDiffer = "channels-differ";
    public const string NoteDisagrees = "note-disagrees";
    public const string LoopOutside = "loop-outside";
    public const string MappingNone = "mapping-none";
    public const string MappingEmpty = "mapping-empty";
    public const string KeysMissing = "keys-missing";
    public const string TakesMissing = "takes-missing";
    public const string RecordingUnused = "recording-unused";
    public const string MappingUnreadableText = "mapping-unreadable-text";
    public const string MappingUnknownWords = "mapping-unknown-words";
    public const string NameDecomposed = "name-decomposed";

    public const string FileKept = "file-kept";

    private static readonly string[] MustFix =
    [
        FolderEmpty, NameCollision, NameUnportable, RecordingUndecodable, RecordingCutShort, RecordingEmpty, RecordingNotFinite,
        RecordingSilent, RecordingClippedHard, MappingUnreadable, MappingLeavesFolder, MappingMissingFile, MappingOtherSpelling,
    ];

    private static readonly string[] ListenAgain =
    [
        RecordingClipped, TruePeakOver, NoteDisagrees, PitchFar, LayersOutOfOrder, TakesUneven, TailCut, NoiseHigh, LeadInLong, LeadInShort,
        DcOffset, ChannelsInverted, ChannelSilent, ChannelsIdentical, SameSound, LoopOutside, RatesDiffer, ChannelsDiffer, BitsDiffer,
        NamesOctaveOff, MappingNone, MappingEmpty, KeysMissing, VelocitiesMissing, RangesOverlap, TakesMissing, RecordingUnused, MappingUnreadableText, MappingUnknownWords, NameDecomposed, RecordingNotRead,
    ];

    private static readonly string[] Fine = [FileKept];

    /// <summary>All codes, worst first.</summary>
    public static IReadOnlyList<string> All { get; } = [.. MustFix, .. ListenAgain, .. Fine];

    public static Severity SeverityOf(string code) =>
        MustFix.Contains(code) ? Severity.MustFix
        : ListenAgain.Contains(code) ? Severity.ListenAgain
        : Fine.Contains(code) ? Severity.Fine
        : throw new ArgumentException("No such code.", nameof(code));

    /// <summary>
    /// False for names that a member's computer refuses or lets overwrite another file: no reason makes them arrive, so only another name helps.
    /// </summary>
    public static bool CanBeExcused(string code) => code is not (NameCollision or NameUnportable);

    internal static int RankOf(string code) => All.ToList().IndexOf(code);
}
