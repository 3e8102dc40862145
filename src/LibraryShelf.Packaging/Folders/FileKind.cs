using LibraryShelf.Audio.Files;

namespace LibraryShelf.Packaging.Folders;

public enum FileKind
{
    Recording,
    /// <summary>An SFZ mapping.</summary>
    Mapping,
    /// <summary>Something for people to read or look at: texts, pictures, licences.</summary>
    Paper,
    /// <summary>Anything else; mostly a player's own mapping. It is kept as it is.</summary>
    Other,
}

/// <summary>Tells from its name alone what a file in a library folder is for.</summary>
public static class FileKinds
{
    public const string MappingExtension = ".sfz";

    private static readonly HashSet<string> Papers = new(StringComparer.OrdinalIgnoreCase)
    {
        "", ".txt", ".md", ".markdown", ".rst", ".rtf", ".pdf", ".htm", ".html", ".json", ".csv", ".tsv", ".xml", ".yml", ".yaml", ".cue", ".sha256",
        ".png", ".jpg", ".jpeg", ".gif", ".webp", ".avif", ".svg", ".bmp", ".tif", ".tiff",
        ".mid", ".midi",
    };

    public static FileKind Of(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        if (RecordingNames.IsRecording(path))
            return FileKind.Recording;
        var extension = Path.GetExtension(path);
        if (string.Equals(extension, MappingExtension, StringComparison.OrdinalIgnoreCase))
            return FileKind.Mapping;
        return Papers.Contains(extension) ? FileKind.Paper : FileKind.Other;
    }
}
