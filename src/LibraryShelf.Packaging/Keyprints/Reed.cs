namespace LibraryShelf.Packaging.Keyprints;

/// <summary>One loudness layer of one key, as the keyprint draws it: what its takes have in the middle.</summary>
public sealed record Reed
{
    /// <summary>MIDI 0 to 127.</summary>
    public required int Key { get; init; }

    /// <summary>From 1, the softest, to <see cref="Layers"/>.</summary>
    public required int Layer { get; init; }

    /// <summary>How many layers this key has, drawn or not.</summary>
    public required int Layers { get; init; }

    /// <summary>1 or more.</summary>
    public required int Takes { get; init; }

    /// <summary>It rings as long as the key is held.</summary>
    public bool IsLooped { get; init; }

    /// <summary>Seconds to fall 60 dB, above 0; without meaning when looped.</summary>
    public double RingSeconds { get; init; }

    /// <summary>The spectral centroid, Hz, above 0.</summary>
    public required double BrightnessHz { get; init; }

    /// <summary>The loudest 50 ms, RMS, dB relative to full scale.</summary>
    public required double LoudnessDb { get; init; }

    /// <summary>From the sound's start to its loudest, milliseconds, 0 or more.</summary>
    public required double AttackMs { get; init; }

    /// <summary>The softer half of a key's layers has the paint's soft tone; a middle one belongs to the louder.</summary>
    public bool IsSoft => 2 * Layer <= Layers;
}
