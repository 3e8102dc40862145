using System.Globalization;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// When a region sounds at all, beside key and velocity. Opcodes: SFZ version 1 (sw_last, sw_down, sw_up, sw_previous, sw_lokey, sw_hikey, locc,
/// lochan, lobend, lochanaft, lopolyaft, trigger) and what many players know beyond it (sw_default, sw_lolast, sw_hilast, loprog); their meaning:
/// sfzformat.com.
/// </summary>
internal sealed class VoiceGate
{
    private static readonly SfzOpcode Note = new("sw", SfzValueKind.Note, null, 0, 127);
    private static readonly SfzOpcode Value = new("lo", SfzValueKind.Decimal, null, -8192, 8192);

    private static readonly (string Axis, string Low, string High, double Least, double Most)[] Ranges =
    [
        (Situation.Channel, "lochan", "hichan", 1, 16), (Situation.Bend, "lobend", "hibend", -8192, 8192), (Situation.Program, "loprog", "hiprog", 0, 127),
        (Situation.Pressure, "lochanaft", "hichanaft", 0, 127), (Situation.KeyPressure, "lopolyaft", "hipolyaft", 0, 127),
    ];

    private readonly List<Condition> conditions = [];
    private readonly int? switchedAtFirst;
    private readonly (double Low, double High) switches;

    private VoiceGate(SfzRegion region)
    {
        switchedAtFirst = NoteOf(region, "sw_default");
        switches = (NoteOf(region, "sw_lokey") ?? 0, NoteOf(region, "sw_hikey") ?? 127);
        if (NoteOf(region, "sw_last") is { } last)
            conditions.Add(new Condition(Situation.LastSwitch, last, last));
        else if ((NoteOf(region, "sw_lolast"), NoteOf(region, "sw_hilast")) is var (low, high) && (low ?? high) is not null)
            conditions.Add(new Condition(Situation.LastSwitch, low ?? 0, high ?? 127));
        if (NoteOf(region, "sw_previous") is { } before)
            conditions.Add(new Condition(Situation.NoteBefore, before, before));
        if (NoteOf(region, "sw_down") is { } down)
            conditions.Add(new Condition(Situation.Held + down.ToString(CultureInfo.InvariantCulture), 1, 1));
        if (NoteOf(region, "sw_up") is { } up)
            conditions.Add(new Condition(Situation.Held + up.ToString(CultureInfo.InvariantCulture), 0, 0));
        if (region.Trigger is SfzTrigger.First or SfzTrigger.Legato)
            conditions.Add(region.Trigger == SfzTrigger.First ? new Condition(Situation.Bound, 0, 0) : new Condition(Situation.Bound, 1, 1));
        foreach (var (axis, lo, hi, least, most) in Ranges)
            AddRange(region, axis, lo, hi, least, most);
        foreach (var number in region.Opcodes.Keys.Where(IsControllerRange).Select(o => o[4..]).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal))
            AddRange(region, Situation.Controller + number, "locc" + number, "hicc" + number, 0, 127);
        Text = string.Join(' ', conditions.Select(c => FormattableString.Invariant($"{c.Axis}={c.Low}-{c.High}")).Append(
            conditions.Exists(c => c.Axis == Situation.LastSwitch) ? FormattableString.Invariant($"{switchedAtFirst} {switches.Low}-{switches.High}") : ""));
    }

    /// <summary>The same text is the same gate.</summary>
    public string Text { get; }

    public static VoiceGate Of(SfzRegion region) => new(region);

    /// <summary>Keys that choose whether it sounds.</summary>
    public UInt128 SwitchKeys => conditions.Aggregate(UInt128.Zero, (keys, c) => keys | KeysOf(c));

    /// <param name="situation">What the song did.</param>
    /// <param name="rest">What controllers stand at by the mapping's own word; those not there at 0.</param>
    public bool IsOpen(Situation situation, IReadOnlyDictionary<string, double> rest) => conditions.TrueForAll(c =>
    {
        var value = c.Axis == Situation.LastSwitch ? SwitchIn(situation) : situation[c.Axis] ?? RestOf(c.Axis, rest);
        return value >= c.Low && value <= c.High;
    });

    /// <summary>Situations at the ends of its conditions, in which it may just sound.</summary>
    public IEnumerable<Situation> Corners()
    {
        if (conditions.Count == 0)
            return [];
        return [new Situation(conditions.Select(c => (c.Axis, Within(c).Low))), new Situation(conditions.Select(c => (c.Axis, Within(c).High)))];
    }

    /// <summary>Values next to its conditions on what is no key.</summary>
    public IEnumerable<Situation> Beyond() => conditions.Where(c => !IsOfKeys(c.Axis))
        .SelectMany(c => (double[])[c.Low - 1, c.High + 1], (c, value) => (c.Axis, Value: value)).Where(b => IsValue(b.Axis, b.Value)).Select(b => new Situation([b]));

    private static bool IsOfKeys(string axis) =>
        axis is Situation.LastSwitch or Situation.NoteBefore || axis.StartsWith(Situation.Held, StringComparison.Ordinal);

    private static bool IsValue(string axis, double value) => axis switch
    {
        Situation.Bound => value is 0 or 1,
        _ when Array.Find(Ranges, r => r.Axis == axis) is { Axis: not null } range => value >= range.Least && value <= range.Most,
        _ => value is >= 0 and <= 127,
    };

    /// <summary>Another key than those that switch is no switch, so what was chosen first holds.</summary>
    private double SwitchIn(Situation situation) =>
        situation[Situation.LastSwitch] is { } key && key >= switches.Low && key <= switches.High ? key : switchedAtFirst ?? -1;

    private Condition Within(Condition c) =>
        c.Axis == Situation.LastSwitch ? c with { Low = Math.Max(c.Low, switches.Low), High = Math.Max(Math.Max(c.Low, switches.Low), Math.Min(c.High, switches.High)) } : c;

    private UInt128 KeysOf(Condition c) => c.Axis switch
    {
        Situation.LastSwitch => KeySet.Range((int)Math.Max(c.Low, switches.Low), (int)Math.Min(c.High, switches.High)),
        _ when c.Axis.StartsWith(Situation.Held, StringComparison.Ordinal) => UInt128.One << int.Parse(c.Axis.AsSpan(Situation.Held.Length), CultureInfo.InvariantCulture),
        _ => 0,
    };

    private static double RestOf(string axis, IReadOnlyDictionary<string, double> rest) => axis switch
    {
        Situation.NoteBefore => -1,
        Situation.Channel => 1,
        _ => rest.GetValueOrDefault(axis),
    };

    private void AddRange(SfzRegion region, string axis, string lo, string hi, double least, double most)
    {
        var (low, high) = (ValueOf(region, lo) ?? least, ValueOf(region, hi) ?? most);
        if (low > least || high < most)
            conditions.Add(new Condition(axis, low, high));
    }

    private static bool IsControllerRange(string opcode) =>
        opcode.Length is > 4 and <= 7 && (opcode.StartsWith("locc", StringComparison.Ordinal) || opcode.StartsWith("hicc", StringComparison.Ordinal))
        && opcode.AsSpan(4).IndexOfAnyExceptInRange('0', '9') < 0;

    /// <summary>Moved by the mapping's offset, as all keys that it names; null when it is not written or no key.</summary>
    private static int? NoteOf(SfzRegion region, string opcode) =>
        region.Opcodes.TryGetValue(opcode, out var text) && Note.TryRead(text, out var note) && note + region.NoteOffset is >= 0 and <= 127
            ? (int)note + region.NoteOffset : null;

    private static double? ValueOf(SfzRegion region, string opcode) =>
        region.Opcodes.TryGetValue(opcode, out var text) && Value.TryRead(text, out var value) ? value : null;
}
