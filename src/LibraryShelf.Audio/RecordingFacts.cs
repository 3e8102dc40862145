using System.Text.Json.Serialization;

namespace LibraryShelf.Audio;

[JsonConverter(typeof(JsonStringEnumConverter<LoopKind>))]
public enum LoopKind { Forward, Alternating, Backward, Other }

/// <summary>A loop of a smpl chunk (or an AIFF's). Start and end are sample frames; the end is played too. A play count of 0 is without end.</summary>
public sealed record LoopPoints(long Start, long End, LoopKind Kind, long PlayCount);

/// <summary>
/// A plain estimate of pitch, not a measurement to judge tuning by: <paramref name="Hz"/>, 24 to 5,000, from a quarter of a second after the
/// blow; the nearest MIDI <paramref name="Note"/> (A4 = 440 Hz) and the <paramref name="Cents"/> above it, −50 to 50;
/// <paramref name="Confidence"/> 0.5 to 1, the correlation of the sound with itself one period later. Good for telling a wrong note from a right
/// one; a stiff string's partials or two strings that beat lead it astray by cents.
/// </summary>
public sealed record PitchEstimate(double Hz, int Note, double Cents, double Confidence);

/// <summary>
/// What one recording is and holds, from one pass over its bytes. Stored as JSON by content hash: add properties freely, but raise
/// <see cref="CurrentGeneration"/> when any value would come out otherwise.
/// </summary>
public sealed record RecordingFacts
{
    /// <summary>Which generation of this code measured; facts of an older one are measured anew.</summary>
    public const int CurrentGeneration = 3;

    /// <summary>wav, rf64, bw64, aiff (also AIFF-C), or for what is not read yet: rifx, w64, flac, ogg, caf, mp4, mp3; "" when it is no recording.</summary>
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
    /// The same for the same samples in the same coding, whatever container and chunks lie round them: XXH128 of the sample bytes (least
    /// significant byte first), coding, channels, rate and bits, 32 lower-case hex digits. Not made against forgers; "" when there is no format.
    /// </summary>
    public string SoundHash { get; init; } = "";

    /// <summary>
    /// Largest magnitude of any sample in dB relative to full scale (a whole number of b bits is divided by 2^(b−1)); may be above
    /// 0 in float recordings; samples that are no numbers are left out of this and of all other measures (they count as zero); null when every
    /// sample is zero or none was read.
    /// </summary>
    public double? SamplePeakDbfs { get; init; }

    /// <summary>
    /// Places where at least three samples in a row of one channel are at full scale: at or beyond the largest positive value,
    /// either sign (float: at or beyond 1). A longer run is still one place.
    /// </summary>
    public int ClippedRuns { get; init; }

    /// <summary>There are samples, and every one is exactly zero.</summary>
    public bool Silent { get; init; }

    /// <summary>Some sample of a float recording is not a number, infinite, or beyond 10^15 times full scale (300 dB), which is no level either.</summary>
    public bool HasNonFinite { get; init; }

    /// <summary>
    /// Where the clipped places begin, seconds from the start, in order, the first <see cref="MostClippedAt"/> of them (places of several
    /// channels within one millisecond may be counted in either order).
    /// </summary>
    public IReadOnlyList<double> ClippedAt { get; init; } = [];

    public const int MostClippedAt = 16;

    /// <summary>
    /// True peak, dB relative to full scale (dBTP): the largest magnitude of the signal at four times its rate, made by the filter of ITU-R
    /// BS.1770-5 Annex 2, and never less than <see cref="SamplePeakDbfs"/>; nothing is made up before the first sample or behind the last;
    /// null when every sample is zero or none was read.
    /// </summary>
    public double? TruePeakDbtp { get; init; }

    /// <summary>Mean of each channel's finite samples, full scale 1, −1 to 1 unless float goes beyond; in channel order. Empty without samples.</summary>
    public IReadOnlyList<double> DcOffset { get; init; } = [];

    /// <summary>Channels, from 0, whose every sample is zero while another channel sounds.</summary>
    public IReadOnlyList<int> SilentChannels { get; init; } = [];

    /// <summary>
    /// Two channels or more, and all hold the same samples: mono stored as more. A difference of one step of its bits (float: of 24 bits) is
    /// forgiven when the peak is at least 256 steps: rounding and dither make it. Common practice, no source.
    /// </summary>
    public bool ChannelsIdentical { get; init; }

    /// <summary>
    /// Two channels, and the second is the first turned upside down, one step forgiven as in <see cref="ChannelsIdentical"/>: it vanishes when
    /// both are added.
    /// </summary>
    public bool ChannelsInverted { get; init; }

    /// <summary>
    /// Integrated loudness, LUFS (ITU-R BS.1770-5 Annex 1: K-weighted at the recording's own rate, blocks of 400 ms each 100 ms, gates at −70 LUFS
    /// and −10 LU); null under 400 ms, when no block passes the gates, or below a rate of 4,000 Hz, which can't hold the weighting.
    /// </summary>
    public double? LoudnessLufs { get; init; }

    /// <summary>
    /// The loudest 400 ms, LUFS, not gated (EBU Tech 3341: momentary loudness, here a new value every 10 ms); null under 400 ms, when silent, or
    /// below a rate of 4,000 Hz.
    /// </summary>
    public double? MomentaryMaxLufs { get; init; }

    /// <summary>
    /// The loudest RMS of any window of 50 ms, a new one each millisecond (or of the whole, when shorter), the mean over all channels, dB relative
    /// to full scale: a full-scale sine in every channel is −3.01. Stands in for loudness under 400 ms. Null when silent.
    /// </summary>
    public double? LoudestRmsDbfs { get; init; }

    /// <summary>
    /// Milliseconds from the start until the sound starts: the first sample of any channel whose magnitude is above the sample peak less 40 dB
    /// (to 0.07 dB; DC counts). Null when silent. Common practice, no source.
    /// </summary>
    public double? LeadInMs { get; init; }

    /// <summary>
    /// Milliseconds from the sound's start to its loudest: to the middle of the first 10 ms whose RMS comes within 1 dB of the greatest (a held
    /// sound is loudest again and again), never below 0. Null when silent. Common practice, no source.
    /// </summary>
    public double? AttackMs { get; init; }

    /// <summary>
    /// Milliseconds from the loudest until the level (RMS of 10 ms) has fallen 20 dB below the greatest for good; null when it never has before
    /// the end. DC and slow drift do not count as level. Common practice, no source.
    /// </summary>
    public double? Decay20Ms { get; init; }

    /// <summary>As <see cref="Decay20Ms"/> for 60 dB.</summary>
    public double? Decay60Ms { get; init; }

    /// <summary>
    /// Level at the cut tail: RMS of the last 50 ms (to a millisecond; or of the whole, when shorter), the mean over all channels, dBFS, DC
    /// included because the cut steps over it too; null when those samples are all zero.
    /// </summary>
    public double? TailDbfs { get; init; }

    /// <summary>
    /// Noise floor, dBFS: the least RMS of any window of 50 ms without a millisecond of nothing but zeros, the mean over all channels, DC left
    /// out; null when none is 20 dB below the loudest window, because then even the quietest is the sound itself. Common practice, no source.
    /// </summary>
    public double? NoiseFloorDbfs { get; init; }

    /// <summary>
    /// Brightness: the spectral centroid, Hz, from 20 Hz up, each frequency weighted with its power; of the loudest channel, Hann-windowed, a
    /// quarter of a second (less when there is less), 30 ms after the sound first comes within 6 dB of its peak. Null when silent or under 32
    /// samples. The centroid is as usual; window and place are common practice, no source.
    /// </summary>
    public double? BrightnessHz { get; init; }

    /// <summary>A plain estimate of the pitch; null when there is none to be had.</summary>
    public PitchEstimate? Pitch { get; init; }

    /// <summary>
    /// The wave's outline for a picture: for each of up to <see cref="OutlineColumns"/> equal stretches the least and the greatest sample
    /// over all channels, as two signed bytes (full scale 127, what is beyond is cut), base64; a stretch is at least a millisecond, so short
    /// recordings have fewer. "" when there are no samples.
    /// </summary>
    public string Outline { get; init; } = "";

    public const int OutlineColumns = 256;

    /// <summary>Places named by a cue chunk (or an AIFF's MARK), in sample frames, as the file lists them, at most 256; not held against its length.</summary>
    public IReadOnlyList<long> Cues { get; init; } = [];

    /// <summary>The description of a bext chunk (EBU Tech 3285), trimmed; "" without one.</summary>
    public string BextDescription { get; init; } = "";

    /// <summary>MIDI note 0 to 127 that the smpl chunk declares (60 is middle C); null without one.</summary>
    public int? SmplNote { get; init; }

    /// <summary>How far above <see cref="SmplNote"/> the smpl chunk says the recording is, cents, 0 to 100.</summary>
    public double SmplCents { get; init; }

    /// <summary>MIDI note 0 to 127 that the inst chunk (an AIFF's INST) declares; null without one.</summary>
    public int? InstNote { get; init; }

    /// <summary>Loops of the smpl chunk, or an AIFF's sustain and release loops; not held against the recording's length.</summary>
    public IReadOnlyList<LoopPoints> Loops { get; init; } = [];

    public RecordingTrouble Trouble { get; init; }

    /// <summary>What is wrong, as the end of a sentence that starts "This recording can't be read: "; "" when all is well.</summary>
    public string TroubleWords { get; init; } = "";

    /// <summary>The samples were read to the end that the file claims.</summary>
    [JsonIgnore]
    public bool IsWhole => Trouble == RecordingTrouble.None;
}
