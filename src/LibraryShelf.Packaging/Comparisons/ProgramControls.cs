using System.Globalization;
using System.Text.RegularExpressions;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>MIDI controllers that a program listens to, and on which keys; those that every player listens to by itself (volume, pan) left out.</summary>
internal sealed partial class ProgramControls
{
    private const int Sustain = 64, Sostenuto = 66;

    private readonly Dictionary<int, UInt128> byControl = [];

    public ProgramControls(SfzMapping program)
    {
        var known = new Dictionary<string, (int Control, double Nothing)?>(StringComparer.Ordinal);
        foreach (var region in program.Regions)
        {
            var keys = region is { SampleText: not null, IsMuted: false } ? KeySet.Of(ComparedSide.KeysOf(region)) : 0;
            foreach (var (opcode, value) in region.Opcodes)
            {
                if (!known.TryGetValue(opcode, out var found))
                    known[opcode] = found = Read(opcode);
                // What can't be read as a number counts as listening.
                if (found is (var control, var nothing) && !(double.TryParse(value, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && number == nothing))
                    Listen(control, keys);
            }
            if (region.Opcodes.GetValueOrDefault("sustain_sw") != "off")
                Listen(Sustain, keys);
            if (region.Opcodes.GetValueOrDefault("sostenuto_sw") != "off")
                Listen(Sostenuto, keys);
        }
    }

    public static void Say(ProgramControls old, ProgramControls next, UInt128 sounding, NoteNaming naming, Action<Bump, string> say)
    {
        SayControls(Bump.Major, old.byControl.Keys.Except(next.byControl.Keys), controllers => T($"it listens to {controllers} no more"), say);
        foreach (var control in old.byControl.Keys.Intersect(next.byControl.Keys).Order())
            if (KeySet.Keys(old.byControl[control] & ~next.byControl[control] & sounding) is { Count: > 0 } deaf)
                say(Bump.Major, T($"controller {control.ToString(CultureInfo.InvariantCulture)} does nothing on {Words.Keys(deaf, naming)} any more"));
        SayControls(Bump.Minor, next.byControl.Keys.Except(old.byControl.Keys), controllers => T($"it listens to {controllers} now"), say);
    }

    private static void SayControls(Bump bump, IEnumerable<int> controls, Func<string, string> words, Action<Bump, string> say)
    {
        var those = controls.Order().ToList();
        if (those.Count > 0)
            say(bump, words($"{Noun(those.Count, "controller", "controllers")} {string.Join(", ", those)}"));
    }

    private void Listen(int control, UInt128 keys) => byControl[control] = byControl.GetValueOrDefault(control) | keys;

    /// <summary>The controller that an opcode names, and the value with which it says nothing.</summary>
    private static (int Control, double Nothing)? Read(string opcode)
    {
        var match = Controller().Match(opcode);
        if (!match.Success || !int.TryParse(match.Groups["number"].ValueSpan, NumberStyles.None, CultureInfo.InvariantCulture, out var number) || number > 127)
            return null;
        return match.Groups["what"].Value switch
        {
            // How a controller acts, which is nothing without one that says on what.
            var what when what.EndsWith("curve", StringComparison.Ordinal) || what.EndsWith("smooth", StringComparison.Ordinal) || what.EndsWith("step", StringComparison.Ordinal) => null,
            "hi" or "on_hi" => (number, 127),
            _ => (number, 0),
        };
    }

    [GeneratedRegex(@"\A(?<what>.*)cc(?<number>[0-9]{1,3})\z", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Controller();
}
