namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Where a recording stands in its library, as the mapping plays it (the file's name fills in what no mapping says). Stored as JSON with
/// the release's sheet.
/// </summary>
public sealed record RecordingPlace
{
    /// <summary>In the library's folder, "/" between parts.</summary>
    public required string Path { get; init; }

    /// <summary>The declared note, MIDI 0 to 127; null when nobody says one.</summary>
    public int? Note { get; init; }

    /// <summary>Who says so: mapping, smpl, inst or name; null without a note.</summary>
    public string? NoteFrom { get; init; }

    /// <summary>The loudness layer, 1 the softest; null when not known.</summary>
    public int? Layer { get; init; }

    /// <summary>How many layers this note has in this way of playing and microphone.</summary>
    public int? Layers { get; init; }

    /// <summary>The take, from 1; null when not known.</summary>
    public int? Take { get; init; }

    /// <summary>The way of playing; "" for the one unnamed way.</summary>
    public string Articulation { get; init; } = "";

    /// <summary>The microphone position; "" for the one unnamed.</summary>
    public string Microphone { get; init; } = "";

    /// <summary>It sounds on letting go.</summary>
    public bool IsLift { get; init; }

    /// <summary>Keys that sound this recording, MIDI 0 to 127, lowest and highest; null when no mapping does.</summary>
    public int? LowKey { get; init; }

    public int? HighKey { get; init; }
}
