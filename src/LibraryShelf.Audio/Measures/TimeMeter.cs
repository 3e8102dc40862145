namespace LibraryShelf.Audio.Measures;

/// <summary>
/// When the sound starts, is loudest and dies away, and how quiet its quiet is, from energies of one millisecond each; fixed memory. The rules
/// stand in docs/checks.md, "What is measured".
/// </summary>
internal sealed class TimeMeter
{
    /// <summary>The sound starts where it first comes within this of its peak, dB (as the piano's figures in the tests were measured).</summary>
    public const double StartBelowPeak = 40;

    /// <summary>The first moment this near the loudest counts as the loudest, dB: a held sound is loudest again and again.</summary>
    private const double AsGoodAsLoudest = 1;

    /// <summary>A quiet stretch less than this below the loudest is the sound, not its noise floor, dB.</summary>
    private const double FloorBelowLoudest = 20;

    /// <summary>DC and drift are no sound: the mean of so many seconds before is left out, where that leaves less.</summary>
    private const double DriftSeconds = 0.1;

    private const double LevelSeconds = 0.010, StretchSeconds = 0.050;

    private readonly int channels, sampleRate, hop;
    private readonly double[] hopSums, hopEnergies;
    private readonly SlidingSum[] drift;
    private readonly SlidingSum level, sounding, raw;
    private readonly LevelSteps first = new(long.MaxValue), last = new(-1);
    private long hops, sinceSilence;
    private int hopFrames;
    private double loudestRaw, loudestSounding, quietest = double.MaxValue, greatest;

    public TimeMeter(int channels, int sampleRate)
    {
        (this.channels, this.sampleRate) = (channels, sampleRate);
        hop = Math.Max(1, (int)Math.Round(sampleRate / 1000.0));
        (hopSums, hopEnergies) = (new double[channels], new double[channels]);
        drift = [.. Enumerable.Range(0, channels).Select(_ => new SlidingSum(HopsIn(DriftSeconds)))];
        level = new SlidingSum(HopsIn(LevelSeconds));
        (sounding, raw) = (new SlidingSum(HopsIn(StretchSeconds)), new SlidingSum(HopsIn(StretchSeconds)));
    }

    /// <summary>Frames until the running millisecond is full.</summary>
    public int FramesLeft => hop - hopFrames;

    public OnsetRecord Onsets { get; } = new();

    public void Take(int channel, in Stretch stretch)
    {
        hopSums[channel] += stretch.Sum;
        hopEnergies[channel] += stretch.Energy;
    }

    /// <summary>After every channel of a stretch.</summary>
    public void Advance(int frames)
    {
        hopFrames += frames;
        if (hopFrames == hop)
            EndHop();
    }

    /// <summary>What the whole came to, with the true end: a rest of less than a millisecond counts at the tail.</summary>
    public RecordingFacts Onto(RecordingFacts facts)
    {
        var tail = PowerOf(raw.Sum + hopEnergies.Sum(), raw.Filled * (long)hop + hopFrames);
        if (!level.IsFull)
            TakeLevel(PowerOf(level.Sum + hopEnergies.Sum(), level.Filled * (long)hop + hopFrames));
        if (!raw.IsFull)
            loudestRaw = tail;
        facts = facts with { LoudestRmsDbfs = Decibels.OfPower(loudestRaw), TailDbfs = Decibels.OfPower(tail), NoiseFloorDbfs = NoiseFloor() };
        if (Onsets.Record == 0 || Onsets.FirstAt(Onsets.Record * Math.Pow(10, -StartBelowPeak / 20)) is not { } start)
            return facts;
        var leadIn = 1000.0 * start / sampleRate;
        if (Moment(FirstAtLeast(greatest * Below(AsGoodAsLoudest))) is not { } loudest)
            return facts with { LeadInMs = leadIn };
        return facts with
        {
            LeadInMs = leadIn,
            AttackMs = Math.Max(0, loudest - leadIn),
            Decay20Ms = Decay(20, loudest),
            Decay60Ms = Decay(60, loudest),
        };
    }

    private void EndHop()
    {
        double energy = 0, soundingEnergy = 0;
        hops++;
        for (var channel = 0; channel < channels; channel++)
        {
            var (sum, squares) = (hopSums[channel], hopEnergies[channel]);
            drift[channel].Add(sum);
            var mean = drift[channel].Sum / (drift[channel].Filled * (double)hop);
            energy += squares;
            soundingEnergy += Math.Clamp(squares - 2 * mean * sum + hop * mean * mean, 0, squares);
            hopSums[channel] = hopEnergies[channel] = 0;
        }
        hopFrames = 0;
        sinceSilence = energy == 0 ? 0 : sinceSilence + 1;
        level.Add(soundingEnergy);
        sounding.Add(soundingEnergy);
        raw.Add(energy);
        if (level.IsFull)
            TakeLevel(PowerOf(level.Sum, level.Filled * (long)hop));
        if (raw.IsFull)
            TakeStretch();
    }

    private void TakeLevel(double power)
    {
        if (power <= 0)
            return;
        greatest = Math.Max(greatest, power);
        var step = LevelSteps.Of(power);
        first[step] = Math.Min(first[step], hops);
        last[step] = hops;
    }

    private void TakeStretch()
    {
        var frames = raw.Filled * (long)hop;
        loudestRaw = Math.Max(loudestRaw, PowerOf(raw.Sum, frames));
        var power = PowerOf(sounding.Sum, frames);
        loudestSounding = Math.Max(loudestSounding, power);
        if (sinceSilence >= sounding.Filled)
            quietest = Math.Min(quietest, power);
    }

    private double? NoiseFloor() =>
        Decibels.OfPower(quietest) is { } floor && Decibels.OfPower(loudestSounding) is { } loudest && floor <= loudest - FloorBelowLoudest ? floor : null;

    private double? Decay(double decibels, double loudest)
    {
        var end = LastAtLeast(greatest * Below(decibels));
        return end < hops && Moment(end) is { } moment ? Math.Max(0, moment - loudest) : null;
    }

    private long FirstAtLeast(double power)
    {
        var earliest = long.MaxValue;
        foreach (var ended in first.From(LevelSteps.Of(power)))
            earliest = Math.Min(earliest, ended);
        return earliest;
    }

    private long LastAtLeast(double power)
    {
        var latest = -1L;
        foreach (var ended in last.From(LevelSteps.Of(power)))
            latest = Math.Max(latest, ended);
        return latest;
    }

    /// <summary>The middle of the window that ended with this many milliseconds taken; milliseconds from the start.</summary>
    private double? Moment(long ended) => ended is < 0 or long.MaxValue ? null : 1000.0 * hop / sampleRate * (ended - level.Filled / 2.0);

    private static double Below(double decibels) => Math.Pow(10, -decibels / 10);

    private double PowerOf(double energy, long frames) => frames == 0 ? 0 : Math.Max(0, energy) / ((double)frames * channels);

    private int HopsIn(double seconds) => Math.Max(1, (int)Math.Round(seconds * sampleRate / hop));
}
