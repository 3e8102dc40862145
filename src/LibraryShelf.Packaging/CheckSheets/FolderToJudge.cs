using LibraryShelf.Audio;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// A library folder with what was measured of it. <paramref name="Recordings"/> holds facts by path; <paramref name="ReadText"/> gives
/// a text file by its path (mappings and what they include), or null when it is not there or larger than
/// <see cref="Mappings.MappingText.MaxBytes"/>; <paramref name="IsPitched"/> is false for a kit, whose keys need not be without gaps.
/// </summary>
public sealed record FolderToJudge(
    IReadOnlyList<FolderFile> Files,
    IReadOnlyDictionary<string, RecordingFacts> Recordings,
    Func<string, string?> ReadText,
    bool IsPitched = true)
{
    public LibraryLimits Limits { get; init; } = LibraryLimits.Default;

    /// <summary>SHA-256 of each file by its path, as far as known: two names of the same bytes are found by it.</summary>
    public IReadOnlyDictionary<string, string> Hashes { get; init; } = new Dictionary<string, string>(StringComparer.Ordinal);
}
