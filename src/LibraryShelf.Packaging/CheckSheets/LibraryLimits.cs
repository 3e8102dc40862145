namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// What a maker expects of the recordings of one library: the limits beyond which the check speaks. The defaults are argued, and their
/// sources named, in docs/checks.md. Stored as JSON with the library: what is missing there keeps its default.
/// </summary>
public sealed record LibraryLimits
{
    public static readonly LibraryLimits Default = new();

    /// <summary>The octave number that middle C (MIDI note 60) has in this library's file names and pages: 4 or 3.</summary>
    public int MiddleCOctave { get; init; } = 4;
}
