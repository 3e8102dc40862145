using System.Text.RegularExpressions;

namespace LibraryShelf.Packaging.Mappings;

/// <summary>
/// Names that SFZ version 1 knows but whose values change nothing that is checked here: filters, modulation, equaliser, crossfades,
/// controllers. Known names are not reported; the values are the player's.
/// </summary>
internal static partial class SfzNames
{
    private static readonly HashSet<string> Others = new(StringComparer.Ordinal)
    {
        "lobend", "hibend", "lochanaft", "hichanaft", "lopolyaft", "hipolyaft", "lobpm", "hibpm",
        "sw_lokey", "sw_hikey", "sw_last", "sw_down", "sw_up", "sw_previous", "sw_vel",
        "loccN", "hiccN", "on_loccN", "on_hiccN",
        "delay_random", "delay_ccN", "offset_random", "offset_ccN", "sync_beats", "sync_offset",
        "pitch_veltrack", "pitch_random", "bend_step",
        "fil_type", "cutoff", "cutoff_ccN", "cutoff_chanaft", "cutoff_polyaft", "resonance",
        "fil_keytrack", "fil_keycenter", "fil_veltrack", "fil_random",
        "position", "amp_velcurve_N", "amp_random", "rt_decay", "output", "gain_ccN",
        "xfin_lokey", "xfin_hikey", "xfout_lokey", "xfout_hikey", "xf_keycurve",
        "xfin_lovel", "xfin_hivel", "xfout_lovel", "xfout_hivel", "xf_velcurve",
        "xfin_loccN", "xfin_hiccN", "xfout_loccN", "xfout_hiccN", "xf_cccurve",
        "effect1", "effect2",
    };

    public static bool IsKnown(string opcode) =>
        SfzOpcodes.Find(opcode) is not null || Others.Contains(WithoutNumbers(opcode)) || Family().IsMatch(opcode);

    /// <summary>locc64 → loccN, amp_velcurve_90 → amp_velcurve_N; other digits stay.</summary>
    private static string WithoutNumbers(string opcode) => Number().Replace(opcode, "N");

    [GeneratedRegex(@"(?<=cc|curve_)[0-9]+\z", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Number();

    [GeneratedRegex(
        @"\A(?:(?:amp|pitch|fil)eg_(?:(?:delay|start|attack|hold|decay|sustain|release)(?:cc[0-9]+)?|depth|vel2(?:delay|attack|hold|decay|sustain|release|depth))"
        + @"|(?:amp|pitch|fil)lfo_(?:delay|fade|freq|depth|(?:depth|freq)(?:cc[0-9]+|chanaft|polyaft))"
        + @"|eq[123]_(?:freq|bw|gain|vel2freq|vel2gain|(?:freq|bw|gain)cc[0-9]+))\z",
        RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Family();
}
