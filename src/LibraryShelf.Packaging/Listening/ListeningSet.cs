namespace LibraryShelf.Packaging.Listening;

/// <summary>A file of a listening set, by its name in the set.</summary>
public sealed record ListeningFile(string Name, ReadOnlyMemory<byte> Bytes);

/// <summary>
/// A phrase that can be heard: <paramref name="Name"/> with ".opus" and ".wav" are its files. <paramref name="Way"/> is the way of playing, "" for the one unnamed.
/// Loudness and true peak are those of the Ogg Opus file once decoded. <paramref name="OfWays"/>: how many ways of playing the library has, heard or not.
/// </summary>
public sealed record Excerpt(string Name, string Way, bool IsSoftToHard, double Seconds, double? LoudnessLufs, double? TruePeakDbtp, int OfWays = 1);

/// <summary>What can be heard of a library without having it.</summary>
/// <param name="Files">Each once; the manifest of the playable set is <see cref="ManifestName"/>.</param>
/// <param name="Excerpts">At least one.</param>
/// <param name="GainDb">What all recordings were changed by, alike.</param>
/// <param name="IsLimited">True peak kept it from being louder.</param>
/// <param name="LoudnessLufs">Of the excerpts one after the other; null when they are too short to tell.</param>
/// <param name="TruePeakDbtp">The greatest of all files.</param>
/// <param name="KeyboardBytes">Of the playable set in Ogg Opus.</param>
public sealed record ListeningSet(
    IReadOnlyList<ListeningFile> Files, IReadOnlyList<Excerpt> Excerpts, double GainDb, bool IsLimited, double? LoudnessLufs, double? TruePeakDbtp, int KeyboardBytes)
{
    /// <summary>Goes up when the same library would give other files; those made before are then made anew.</summary>
    public const int Generation = 3;

    public const string ManifestName = "keyboard.json", OpusName = "keyboard-opus.bin", WavName = "keyboard-wav.bin";

    /// <summary>EBU R 128 (version 5.0, 2023): programme loudness, LUFS.</summary>
    public const double TargetLufs = -23;

    /// <summary>EBU R 128: greatest permitted true peak, dBTP. Where both can't be had, this one is.</summary>
    public const double LimitDbtp = -1;

    /// <summary>A playable set with its manifest stays below 3 MB (3,000,000 bytes); so does that of WAV files.</summary>
    public const int MostBytes = 2_950_000;
}
