using System.Text.Json.Serialization;

namespace LibraryShelf.Audio;

[JsonConverter(typeof(JsonStringEnumConverter<LoopKind>))]
public enum LoopKind { Forward, Alternating, Backward, Other }

/// <summary>A loop of a smpl chunk. Start and end are sample frames; the end is played too. A play count of 0 is without end.</summary>
public sealed record LoopPoints(long Start, long End, LoopKind Kind, long PlayCount);

/// <summary>
/// A plain estimate of pitch, not a measurement to judge tuning by: <paramref name="Hz"/>; the nearest MIDI <paramref name="Note"/> (A4 =
/// 440 Hz) and the <paramref name="Cents"/> above it, −50 to 50; <paramref name="Confidence"/> 0 to 1.
/// </summary>
public sealed record PitchEstimate(double Hz, int Note, double Cents, double Confidence);

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

    /// <summary>
    /// Where the clipped places begin, seconds from the start, the first <see cref="MostClippedAt"/> of them in order.
    /// </summary>
    public IReadOnlyList<double> ClippedAt { get; init; } = [];

    public const int MostClippedAt = 16;

    /// <summary>
    /// True peak, dB relative to full scale: the largest magnitude of the signal oversampled as ITU-R BS.1770-5 Annex 2 describes; null
    /// when every sample is zero or none was read.
    /// </summary>
    public double? TruePeakDbtp { get; init; }

    /// <summary>Mean of each channel's finite samples, full scale 1; in channel order.</summary>
    public IReadOnlyList<double> DcOffset { get; init; } = [];

    /// <summary>Channels, from 0, whose every sample is zero while another channel sounds.</summary>
    public IReadOnlyList<int> SilentChannels { get; init; } = [];

    /// <summary>Two channels or more, and all hold the same samples: mono stored as more.</summary>
    public bool ChannelsIdentical { get; init; }

    /// <summary>Two channels, and the second is the first turned upside down: it vanishes when both are added.</summary>
    public bool ChannelsInverted { get; init; }

    /// <summary>Integrated loudness, LUFS (ITU-R BS.1770-5 Annex 1, gated); null under 400 ms, or when no block passes the gates.</summary>
    public double? LoudnessLufs { get; init; }

    /// <summary>The loudest 400 ms, LUFS (EBU Tech 3341: momentary loudness, a new value every 100 ms at most); null under 400 ms or when silent.</summary>
    public double? MomentaryMaxLufs { get; init; }

    /// <summary>
    /// The loudest RMS of any <see cref="Measures"/> window of 50 ms (or of the whole, when shorter), all channels together, dB relative to
    /// full scale; stands in for loudness under 400 ms. Null when silent.
    /// </summary>
    public double? LoudestRmsDbfs { get; init; }

    /// <summary>Milliseconds from the start until the sound starts; null when silent. docs/checks.md has the rule.</summary>
    public double? LeadInMs { get; init; }

    /// <summary>Milliseconds from the sound's start to its loudest; null when silent.</summary>
    public double? AttackMs { get; init; }

    /// <summary>Milliseconds from the loudest until the level has fallen 20 dB for good; null when it never has before the end.</summary>
    public double? Decay20Ms { get; init; }

    /// <summary>As <see cref="Decay20Ms"/> for 60 dB.</summary>
    public double? Decay60Ms { get; init; }

    /// <summary>Level at the cut tail: RMS of the last 50 ms (or of the whole, when shorter), dBFS; null when those samples are all zero.</summary>
    public double? TailDbfs { get; init; }

    /// <summary>Noise floor, dBFS: RMS of the quietest stretch; null when there is none to be measured. docs/checks.md has the rule.</summary>
    public double? NoiseFloorDbfs { get; init; }

    /// <summary>Brightness: the spectral centroid of the sound's first part, Hz; null when silent. docs/checks.md has the rule.</summary>
    public double? BrightnessHz { get; init; }

    /// <summary>A plain estimate of the pitch; null when there is none to be had.</summary>
    public PitchEstimate? Pitch { get; init; }

    /// <summary>
    /// The wave's outline for a picture: for each of up to <see cref="OutlineColumns"/> equal stretches the least and the greatest sample
    /// over all channels, as two signed bytes (full scale 127), base64. "" when there are no samples.
    /// </summary>
    public string Outline { get; init; } = "";

    public const int OutlineColumns = 256;

    /// <summary>Places named by a cue chunk (or an AIFF's MARK), in sample frames.</summary>
    public IReadOnlyList<long> Cues { get; init; } = [];

    /// <summary>The description of a bext chunk (EBU Tech 3285), trimmed; "" without one.</summary>
    public string BextDescription { get; init; } = "";

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
