using System.Text.Json.Serialization;

namespace LibraryShelf.Packaging.Listening;

/// <summary>
/// What a page needs to know to play a library, in the shape "libraryshelf/listening/1". <paramref name="Probe"/> is a short Ogg Opus file, base64: who can't decode it
/// takes the set of WAV files instead.
/// </summary>
/// <param name="Format">The shape's name.</param>
/// <param name="Ways">All ways of playing, as regions number them from 0; one "" when it has no name. A set may have no regions of the last ones: then they did not fit.</param>
/// <param name="LowKey">The lowest key that sounds, MIDI 0 to 127.</param>
/// <param name="HighKey">The highest.</param>
/// <param name="Probe">Base64.</param>
/// <param name="Sets">The set in Ogg Opus, then that in WAV.</param>
public sealed record ListeningManifest(
    string Format, IReadOnlyList<string> Ways, int LowKey, int HighKey, string Probe, IReadOnlyList<ListeningManifest.Set> Sets)
{
    public const string Shape = "libraryshelf/listening/1";

    /// <summary>Files of one kind, one behind the other in one file; <paramref name="Mark"/> is the start of that one's SHA-256, 16 hex digits.</summary>
    public sealed record Set(string Type, string File, string Mark, int Bytes, IReadOnlyList<Region> Regions);

    /// <summary>
    /// Which part of the file sounds for which keys and velocities, both ends sounding, and how: played at 2^((cents + (key − centre) × track) / 1200) of its speed, as
    /// loud as 1 − velocity track × (1 − (velocity / 127)²).
    /// </summary>
    /// <param name="At">The part's first byte.</param>
    /// <param name="Bytes">Its length.</param>
    /// <param name="Way">The way of playing, from 0.</param>
    /// <param name="Lift">It sounds when the key is let go.</param>
    /// <param name="Low">MIDI note.</param>
    /// <param name="High">MIDI note.</param>
    /// <param name="Softest">Velocity, 1 to 127.</param>
    /// <param name="Hardest">Velocity, 1 to 127.</param>
    /// <param name="Take">From 0, which stroke it takes of those in turn.</param>
    /// <param name="Centre">The key at which it sounds as it was recorded.</param>
    /// <param name="Cents">Above that.</param>
    /// <param name="Track">Cents from key to key.</param>
    /// <param name="VelocityTrack">−1 to 1.</param>
    /// <param name="Release">Seconds until it is silent once the key is let go.</param>
    /// <param name="Once">It sounds to its end whatever the key does.</param>
    /// <param name="Loop">Seconds, where it goes round while the key is held; null: it does not.</param>
    public sealed record Region(
        int At, int Bytes, int Way, bool Lift, int Low, int High, int Softest, int Hardest, int Take, int Centre, double Cents, double Track,
        double VelocityTrack, double Release, bool Once, IReadOnlyList<double>? Loop);
}

[JsonSerializable(typeof(ListeningManifest))]
[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingDefault)]
internal sealed partial class ListeningJson : JsonSerializerContext;
