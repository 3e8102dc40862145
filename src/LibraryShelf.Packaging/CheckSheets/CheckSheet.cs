namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>What a whole folder came to: its findings, worst first, and what was counted.</summary>
public sealed record CheckSheet(IReadOnlyList<Finding> Findings, LibraryCount Count)
{
    /// <summary>Where each recording stands, in ordinal order of paths.</summary>
    public IReadOnlyList<RecordingPlace> Places { get; init; } = [];

    /// <summary>The note each recording is said to be, by path; recordings of which nobody says one are not in it.</summary>
    public IReadOnlyDictionary<string, DeclaredNote> Notes { get; init; } = new Dictionary<string, DeclaredNote>(StringComparer.Ordinal);
}

/// <summary>Counts over the folder. Keys are MIDI note numbers 0 to 127; null when nothing is mapped.</summary>
public sealed record LibraryCount(
    int Recordings, int Keys, int? LowestKey, int? HighestKey, int Layers, int Takes, IReadOnlyList<string> Articulations);
