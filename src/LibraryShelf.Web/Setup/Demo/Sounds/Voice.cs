namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>How an invented object sounds: the data of seed/, in physical terms.</summary>
internal sealed record Voice
{
    /// <summary>Seconds of a recording at <see cref="MiddleKey"/>; scaled by <see cref="DecayPerOctave"/> like the ringing.</summary>
    public double Seconds { get; init; } = 1;
    public int MiddleKey { get; init; } = 60;
    /// <summary>Ringing an octave up, as a share of the ringing here; 1 = the same over the range.</summary>
    public double DecayPerOctave { get; init; } = 1;
    /// <summary>Pitch of an unpitched piece, Hz; null: the key's own pitch.</summary>
    public double? Hertz { get; init; }
    /// <summary>How far octaves are stretched, cents per octave from <see cref="MiddleKey"/>: the instrument's own curve.</summary>
    public double StretchCents { get; init; }
    /// <summary>Spread of tuning from take to take, cents either way.</summary>
    public double SpreadCents { get; init; } = 1.5;
    public double AttackSeconds { get; init; } = 0.001;
    /// <summary>Seconds the sound is held before it dies; 0 = struck or plucked.</summary>
    public double HeldSeconds { get; init; }
    /// <summary>Holds for ever by a loop over whole periods (whole-number ratios only).</summary>
    public bool Loops { get; init; }
    public double WobbleHertz { get; init; }
    /// <summary>Depth of the wobble of loudness, 0 to 1.</summary>
    public double Wobble { get; init; }
    public IReadOnlyList<Partial> Partials { get; init; } = [];
    public Noise? Knock { get; init; }
    public Noise? Breath { get; init; }
    /// <summary>Strokes a second when rolled.</summary>
    public double RollsPerSecond { get; init; } = 13;
    public int Channels { get; init; } = 1;
    /// <summary>Peak of the hardest layer, dB below full scale, and of the softest below that.</summary>
    public double PeakDecibels { get; init; } = -3;
    public double LayerRange { get; init; } = 20;
}

/// <summary>One partial: frequency as a multiple of the pitch, level in dB, seconds to fall 60 dB at the middle key.</summary>
internal sealed record Partial(double Ratio, double Level, double Seconds);

/// <summary>Filtered noise: level in dB against the first partial, cut-off in Hz, seconds to fall 60 dB (0: as long as the tone).</summary>
internal sealed record Noise(double Level, double CutoffHertz, double Seconds);
