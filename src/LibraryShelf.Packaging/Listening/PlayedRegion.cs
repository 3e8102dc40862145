namespace LibraryShelf.Packaging.Listening;

/// <summary>A region of a mapping as it is played here: which recording sounds for which keys and how hard, and how it is played then.</summary>
internal sealed record PlayedRegion
{
    /// <summary>The way of playing, from 0, among those of the set.</summary>
    public required int Way { get; init; }

    public required bool IsLift { get; init; }

    /// <summary>MIDI notes, both sounding.</summary>
    public required int LowKey { get; init; }
    public required int HighKey { get; init; }

    /// <summary>1 to 127, both sounding.</summary>
    public required int LowVelocity { get; init; }
    public required int HighVelocity { get; init; }

    /// <summary>From 0, which stroke it takes of those in turn (or, where chance chooses, in turn all the same).</summary>
    public int Take { get; init; }

    /// <summary>The key at which the recording sounds as it was recorded.</summary>
    public required int Centre { get; init; }

    /// <summary>Cents above that, on every key.</summary>
    public double Cents { get; init; }

    /// <summary>Cents a key is above the one below it; 0: every key sounds alike.</summary>
    public double KeyTrack { get; init; } = 100;

    /// <summary>How far loudness follows how hard a key is struck: 0 not at all, 1 by the square of the velocity.</summary>
    public double VelocityTrack { get; init; } = 1;

    public double VolumeDb { get; init; }

    /// <summary>How long it takes to fall silent once the key is let go, seconds.</summary>
    public double ReleaseSeconds { get; init; }

    /// <summary>It sounds to its end whatever the key does.</summary>
    public bool IsOneShot { get; init; }

    /// <summary>SHA-256 of the recording.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Frames passed over at its start.</summary>
    public long Offset { get; init; }

    /// <summary>Frames, counted from the recording's first, the last played too; null: it is not looped while the key is held.</summary>
    public (long First, long Last)? Loop { get; init; }

    /// <summary>The key it was made for, or the nearest that sounds it.</summary>
    public int OwnKey => Math.Clamp(Centre, LowKey, HighKey);

    /// <summary>How much faster than recorded it is played on a key.</summary>
    public double SpeedOn(int key) => Math.Pow(2, (Cents + (key - Centre) * KeyTrack) / 1200);

    /// <summary>How loud it is played, 1 as recorded: amp_veltrack of SFZ version 1 with its standard curve, the square of the velocity.</summary>
    public double GainAt(int velocity)
    {
        var square = Math.Pow(velocity / 127.0, 2);
        return VelocityTrack >= 0 ? 1 - VelocityTrack * (1 - square) : 1 + VelocityTrack * square;
    }
}
