using System.Globalization;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What has to be so for a region to sound: a value between two, both included.</summary>
internal sealed record Condition(string Axis, double Low, double High);

/// <summary>
/// What a song did before it strikes a note, by which a mapping chooses among ways of playing: values by axis. What is not named is at rest.
/// </summary>
internal sealed class Situation
{
    public const string LastSwitch = "last", NoteBefore = "before", Bound = "bound", Channel = "channel", Bend = "bend", Program = "program",
        Pressure = "pressure", KeyPressure = "key pressure", Held = "held ", Controller = "cc";

    private readonly SortedDictionary<string, double> values = new(StringComparer.Ordinal);

    public static Situation Rest { get; } = new([]);

    public Situation(IEnumerable<(string Axis, double Value)> values)
    {
        foreach (var (axis, value) in values)
            this.values[axis] = value;
    }

    /// <summary>The same text is the same situation.</summary>
    public string Text => string.Join(' ', values.Select(v => string.Create(CultureInfo.InvariantCulture, $"{v.Key}={v.Value}")));

    public double? this[string axis] => values.TryGetValue(axis, out var value) ? value : null;

    /// <summary>"after the switch key C1"; "" at rest.</summary>
    public string Words(NoteNaming naming) => CheckSheets.Words.And(values.Select(v => WordsOf(v.Key, v.Value, naming)).Where(w => w.Length > 0));

    private static string WordsOf(string axis, double value, NoteNaming naming) => axis switch
    {
        LastSwitch => T($"after the switch key {naming.Name((int)value)}"),
        NoteBefore => T($"after the note {naming.Name((int)value)}"),
        Bound => value > 0 ? T("in a bound note") : "",
        Channel => T($"on channel {value}"),
        Bend => T($"with the pitch wheel at {value}"),
        Program => T($"with program {value}"),
        Pressure or KeyPressure => T($"with aftertouch {value}"),
        _ when axis.StartsWith(Held, StringComparison.Ordinal) =>
            value > 0 ? T($"while {naming.Name(int.Parse(axis.AsSpan(Held.Length), CultureInfo.InvariantCulture))} is held") : "",
        _ => T($"with controller {axis[Controller.Length..]} at {value}"),
    };
}
