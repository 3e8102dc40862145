using LibraryShelf.Audio;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>A file of a compared folder: size in bytes, SHA-256 in 64 lower-case hex digits.</summary>
public sealed record ComparedFile(string Path, long Size, string Sha256);

/// <summary>A player program and the lowest version of it that opens the library, dotted numbers; "" when none is said.</summary>
public sealed record ComparedPlayer(string Name, string LowestVersion);

/// <summary>
/// One side of a comparison. <paramref name="Recordings"/> holds facts by SHA-256; <paramref name="ReadText"/> gives a text file by its path or
/// null, as for a check; <paramref name="Open"/> gives the bytes of a file by its SHA-256 (only recordings that differ are opened).
/// </summary>
public sealed record ComparedFolder(
    IReadOnlyList<ComparedFile> Files,
    IReadOnlyDictionary<string, RecordingFacts> Recordings,
    Func<string, string?> ReadText,
    Func<string, Stream> Open)
{
    /// <summary>Empty: nothing is known, and nothing is said of players.</summary>
    public IReadOnlyList<ComparedPlayer> Players { get; init; } = [];

    /// <summary>What middle C is called in its file names, and in sentences about the newer one.</summary>
    public NoteNaming Naming { get; init; } = NoteNaming.C4;
}
