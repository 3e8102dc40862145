using System.Globalization;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// A region as a song meets it: keys and velocities as <see cref="KeySet"/>s. <paramref name="CentsAtZero"/> and <paramref name="CentsPerKey"/>: how far above
/// its own pitch the recording sounds on key 0, and how much farther on each next one.
/// </summary>
internal sealed record PlayedPart(
    VoiceGate Gate, UInt128 Keys, UInt128 Velocities, bool IsLift, string Sound, double CentsAtZero, double CentsPerKey, double BendUp, double BendDown)
{
    public double CentsOn(int key) => CentsAtZero + key * CentsPerKey;
}

/// <summary>What a program sounds in each situation.</summary>
internal sealed class PlayedProgram
{
    private readonly Dictionary<string, double> rest = new(StringComparer.Ordinal);
    private readonly Dictionary<string, VoiceGate> gates = new(StringComparer.Ordinal);
    private readonly List<PlayedPart> parts = [];

    public PlayedProgram(SfzMapping program, Func<string, string> soundOf, Func<SfzRegion, int> centreOf)
    {
        foreach (var (name, text) in program.Control)
            if (name.StartsWith("set_cc", StringComparison.Ordinal) && double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var value))
                rest[Situation.Controller + name[6..]] = value;
        foreach (var region in program.Regions.Where(r => r is { SampleText: not null, IsMuted: false }))
            Add(region, region.Sample is { } sample ? soundOf(sample) : region.SampleText!, centreOf(region));
        AllKeys = parts.Aggregate(UInt128.Zero, (keys, p) => keys | p.Keys);
        SwitchKeys = gates.Values.Aggregate(UInt128.Zero, (keys, g) => keys | g.SwitchKeys);
        BySound = parts.ToLookup(p => p.Sound, StringComparer.Ordinal);
    }

    public IReadOnlyList<PlayedPart> Parts => parts;

    public ILookup<string, PlayedPart> BySound { get; }

    public UInt128 AllKeys { get; }

    public UInt128 SwitchKeys { get; }

    /// <summary>At rest first, then those at the ends of each gate's conditions; so many at most.</summary>
    public IReadOnlyList<Situation> Situations(int most) =>
        [.. gates.Values.SelectMany(g => g.Corners()).Prepend(Situation.Rest).DistinctBy(s => s.Text).Take(most)];

    /// <summary>Situations just beyond what the gates ask of controllers, channels and the like, which songs move whether or not they are listened to.</summary>
    public IReadOnlyList<Situation> Beyond(int most) => [.. gates.Values.SelectMany(g => g.Beyond()).DistinctBy(s => s.Text).Take(most)];

    /// <summary>Parts that sound in a situation.</summary>
    public List<PlayedPart> In(Situation situation)
    {
        var open = gates.Values.Where(g => g.IsOpen(situation, rest)).ToHashSet();
        return parts.FindAll(p => open.Contains(p.Gate));
    }

    /// <summary>Velocities that sound by key, on the press or on letting go.</summary>
    public static UInt128[] VelocitiesOf(List<PlayedPart> sounding, bool isLift)
    {
        var byKey = new UInt128[128];
        foreach (var part in sounding)
            if (part.IsLift == isLift)
                for (var left = part.Keys; left != 0; left &= left - 1)
                    byKey[(int)UInt128.TrailingZeroCount(left)] |= part.Velocities;
        return byKey;
    }

    /// <summary>Keys by recording, on the press.</summary>
    public static Dictionary<string, UInt128> SoundsOf(List<PlayedPart> sounding)
    {
        var bySound = new Dictionary<string, UInt128>(StringComparer.Ordinal);
        foreach (var part in sounding)
            if (!part.IsLift)
                bySound[part.Sound] = bySound.GetValueOrDefault(part.Sound) | part.Keys;
        return bySound;
    }

    private void Add(SfzRegion region, string sound, int centre)
    {
        var gate = VoiceGate.Of(region);
        gate = gates.TryGetValue(gate.Text, out var known) ? known : gates[gate.Text] = gate;
        var perKey = region.Number("pitch_keytrack");
        parts.Add(new PlayedPart(
            gate, KeySet.Of(ComparedSide.KeysOf(region)), KeySet.Range(Math.Max(region.LowVelocity, 1), region.HighVelocity), region.Trigger == SfzTrigger.Release, sound,
            100 * region.Number("transpose") + region.Number("tune") - centre * perKey, perKey, region.Number("bend_up"), region.Number("bend_down")));
    }
}
