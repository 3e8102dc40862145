using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Which strokes a region takes: its place among so many in turn, and its share of chance.</summary>
internal sealed record Turn(int Position, int Length, double LowRandom, double HighRandom)
{
    /// <summary>Turns go round each region's own length.</summary>
    public bool SoundsOn(int turn) => (turn - 1) % Length == Position - 1;
}

/// <summary>What sounds on one key: a region without its keys. <paramref name="Sound"/> is the recording by its name in the older folder.</summary>
internal sealed record Voice(
    SfzTrigger Trigger, int LowVelocity, int HighVelocity, Turn Turn, string Sound, int KeyCenter, string Gate, string Settings)
{
    public bool IsLift => Trigger == SfzTrigger.Release;
}

/// <summary>A program as a song uses it: what sounds on each key, and which controls it listens to.</summary>
internal sealed class ProgramVoices
{
    /// <summary>Told by the voice itself, or by where it stands.</summary>
    private static readonly HashSet<string> Apart = new(StringComparer.Ordinal)
    {
        "sample", "key", "lokey", "hikey", "pitch_keycenter", "lovel", "hivel", "trigger", "seq_length", "seq_position", "lorand", "hirand",
    };

    private readonly HashSet<Voice>[] byKey = [.. Enumerable.Range(0, 128).Select(_ => new HashSet<Voice>())];

    /// <param name="program">As parsed.</param>
    /// <param name="soundOf">The name of a recording that both folders share.</param>
    /// <param name="centreOf">The key at which a region's recording sounds as it was recorded.</param>
    public ProgramVoices(SfzMapping program, Func<string, string> soundOf, Func<SfzRegion, int> centreOf)
    {
        foreach (var region in program.Regions.Where(r => r is { SampleText: not null, IsMuted: false }))
        {
            var voice = new Voice(
                region.Trigger, region.LowVelocity, region.HighVelocity,
                new Turn(region.SequencePosition, region.SequenceLength, region.LowRandom, region.HighRandom),
                region.Sample is { } sample ? soundOf(sample) : region.SampleText!, centreOf(region), VoiceGate.Of(region).Text,
                string.Join(' ', region.Opcodes.Where(o => !Apart.Contains(o.Key)).OrderBy(o => o.Key, StringComparer.Ordinal).Select(o => $"{o.Key}={o.Value}")));
            foreach (var key in ComparedSide.KeysOf(region))
                byKey[key].Add(voice);
        }
        Controls = new ProgramControls(program);
        Played = new PlayedProgram(program, soundOf, centreOf);
        Settings = string.Join(' ', program.Control.OrderBy(c => c.Key, StringComparer.Ordinal).Select(c => $"{c.Key}={c.Value}"));
    }

    public ProgramControls Controls { get; }

    public PlayedProgram Played { get; }

    /// <summary>What the mapping says of itself as a whole.</summary>
    public string Settings { get; }

    public IReadOnlySet<Voice> On(int key) => byKey[key];

    public IEnumerable<int> Keys => Enumerable.Range(0, 128).Where(k => byKey[k].Count > 0);

    public bool IsPressed(int key) => byKey[key].Any(v => !v.IsLift);

    public bool IsLifted(int key) => byKey[key].Any(v => v.IsLift);

    public int LayersOn(int key) => byKey[key].Where(v => !v.IsLift).Select(v => (v.LowVelocity, v.HighVelocity)).Distinct().Count();

    public UInt128 VelocitiesOn(int key) => byKey[key].Where(v => !v.IsLift).Aggregate(UInt128.Zero, (set, v) => set | KeySet.Range(v.LowVelocity, v.HighVelocity));

    public int TakesOn(int key) => byKey[key].Where(v => !v.IsLift).Select(v => v.Turn).Distinct().Count();

    /// <summary>
    /// Velocities of a key at which something sounds at every stroke; what takes turns or comes by chance does so together, of the same gate and velocities.
    /// </summary>
    public UInt128 SteadyOn(int key) => byKey[key].Where(v => !v.IsLift).GroupBy(v => (v.Gate, v.LowVelocity, v.HighVelocity)).Where(g => IsSteady([.. g]))
        .Aggregate(UInt128.Zero, (set, g) => set | KeySet.Range(g.Key.LowVelocity, g.Key.HighVelocity));

    private static bool IsSteady(List<Voice> together)
    {
        for (var turn = 1; turn <= together.Max(v => v.Turn.Length); turn++)
        {
            var reached = 0.0;
            foreach (var (low, high) in together.Where(v => v.Turn.SoundsOn(turn)).Select(v => (v.Turn.LowRandom, v.Turn.HighRandom)).Order())
                if (low <= reached)
                    reached = Math.Max(reached, high);
            if (reached < 1)
                return false;
        }
        return true;
    }

    public bool PlaysLike(ProgramVoices other) => Settings == other.Settings && Enumerable.Range(0, 128).All(k => byKey[k].SetEquals(other.byKey[k]));
}
