namespace LibraryShelf.Audio.Files;

/// <summary>Which file names are taken for recordings: by extension, whatever is inside. What is inside is read afterwards.</summary>
public static class RecordingNames
{
    /// <summary>Lower-case extensions with their dot, in the order in which they are explained to people.</summary>
    public static readonly IReadOnlyList<string> Extensions =
    [
        ".wav", ".wave", ".bwf", ".rf64", ".w64", ".aif", ".aiff", ".aifc", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".m4a", ".caf",
    ];

    public static bool IsRecording(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        return Extensions.Contains(Path.GetExtension(path), StringComparer.OrdinalIgnoreCase);
    }
}
