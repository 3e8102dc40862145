using System.Text.Json.Serialization;

namespace LibraryShelf.Audio;

/// <summary>What kept a recording from being read whole.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<RecordingTrouble>))]
public enum RecordingTrouble
{
    None,
    /// <summary>A known kind of recording that LibraryShelf does not read yet; it is kept as it is.</summary>
    NotRead,
    /// <summary>The file starts like no recording at all.</summary>
    NotARecording,
    /// <summary>A recording whose structure contradicts itself: no player can be relied on to play it.</summary>
    Broken,
    /// <summary>The file ends before the place where it says it ends.</summary>
    CutShort,
    /// <summary>Sound, but not one sample in it.</summary>
    Empty,
}
