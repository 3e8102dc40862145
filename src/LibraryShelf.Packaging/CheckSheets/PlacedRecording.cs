using LibraryShelf.Audio;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>A recording that holds sound, with its place in the library.</summary>
internal sealed record PlacedRecording(RecordingPlace Place, RecordingFacts Facts)
{
    public string Path => Place.Path;
}
