namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>What a whole folder came to: its findings, worst first, and what was counted.</summary>
public sealed record CheckSheet(IReadOnlyList<Finding> Findings, LibraryCount Count);

/// <summary>Counts over the folder. Keys are MIDI note numbers 0 to 127; null when nothing is mapped.</summary>
public sealed record LibraryCount(
    int Recordings, int Keys, int? LowestKey, int? HighestKey, int Layers, int Takes, IReadOnlyList<string> Articulations);
