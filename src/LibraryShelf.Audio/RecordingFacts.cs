using System.Text.Json.Serialization;

namespace LibraryShelf.Audio;

[JsonConverter(typeof(JsonStringEnumConverter<LoopKind>))]
public enum LoopKind { Forward, Alternating, Backward, Other }

/// <summary>A loop of a smpl chunk. Start and end are sample frames; the end is played too. A play count of 0 is without end.</summary>
public sealed record LoopPoints(long Start, long End, LoopKind Kind, long PlayCount);

/// <summary>
/// What one recording is and holds, from one pass over its bytes. Stored as JSON by content hash: add properties freely, but raise
/// <see cref="CurrentGeneration"/> when any value would come out otherwise.
/// </summary>
public sealed record RecordingFacts
{
    /// <summary>Which generation of this code measured; facts of an older one are measured anew.</summary>
    public const int CurrentGeneration = 1;

    /// <summary>wav, rf64, bw64, or for what is not read yet: rifx, w64, aiff, flac, ogg, caf, mp4, mp3; "" when it is no recording.</summary>
    public string Container { get; init; } = "";

    /// <summary>pcm or float; "" when not read.</summary>
    public string Coding { get; init; } = "";

    /// <summary>Frames per second; 0 when not read.</summary>
    public int SampleRate { get; init; }

    /// <summary>Bits that count in each sample; 0 when not read.</summary>
    public int Bits { get; init; }

    public int Channels { get; init; }

    /// <summary>Whole frames that are really in the file.</summary>
    public long Frames { get; init; }

    /// <summary>
    /// Largest magnitude of any sample in dB relative to full scale (a whole number of b bits is divided by 2^(b−1)); may be above
    /// 0 in float recordings; samples that are no numbers are left out; null when every sample is zero or none was read.
    /// </summary>
    public double? SamplePeakDbfs { get; init; }

    /// <summary>
    /// Places where at least three samples in a row of one channel are at full scale: at or beyond the largest positive value,
    /// either sign (float: at or beyond 1). A longer run is still one place.
    /// </summary>
    public int ClippedRuns { get; init; }

    /// <summary>There are samples, and every one is exactly zero.</summary>
    public bool Silent { get; init; }

    /// <summary>Some sample of a float recording is not a number or infinite.</summary>
    public bool HasNonFinite { get; init; }

    /// <summary>MIDI note 0 to 127 that the smpl chunk declares (60 is middle C); null without one.</summary>
    public int? SmplNote { get; init; }

    /// <summary>How far above <see cref="SmplNote"/> the smpl chunk says the recording is, cents, 0 to 100.</summary>
    public double SmplCents { get; init; }

    /// <summary>MIDI note 0 to 127 that the inst chunk declares; null without one.</summary>
    public int? InstNote { get; init; }

    public IReadOnlyList<LoopPoints> Loops { get; init; } = [];

    public RecordingTrouble Trouble { get; init; }

    /// <summary>What is wrong, as the end of a sentence that starts "This recording can't be read: "; "" when all is well.</summary>
    public string TroubleWords { get; init; } = "";

    /// <summary>The samples were read to the end that the file claims.</summary>
    [JsonIgnore]
    public bool IsWhole => Trouble == RecordingTrouble.None;
}
